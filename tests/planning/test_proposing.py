"""What a proposed visit says of itself."""

from orders.planning.proposing import links_joined

LINK = "it comes 120 to 420 days after visit MILLRACE MI-11 (hand pulling with roots)"


def test_it_tells_lags_to_visits_of_one_name_once():
    told = f"Its window is Jun 19 to Dec 17; {LINK} (Apr 12); {LINK} (Apr 8); {LINK} (Apr 12). That leaves 126 days."
    assert links_joined(told) == f"Its window is Jun 19 to Dec 17; {LINK} (Apr 12, Apr 8). That leaves 126 days."


def test_it_keeps_lags_to_visits_of_different_names_apart():
    other = "visit MILLRACE MI-11 (cutting) comes 60 days after it (Jul 1)"
    told = f"Its window is Jun 19 to Dec 17; {LINK} (Apr 12); {other}."
    assert links_joined(told) == told
