"""Worked examples of further sheets and exam pages, asked of the same functions as they stand."""

import pytest

from estimating import mixing, sprayer

EXAM_PAGE = (
    "Florida pest control examinations, p. 213, https://online.flipbuilder.com/qawr/oiuo/files/basic-html/page213.html"
)
HANDGUN = "Mesa County, https://www.mesacounty.us/pest/controlling-weeds/sprayer-calibration-methods/how-to-calibrate-a-handgun/"
FLASH_CARDS = "https://www.freezingblue.com/flashcards/print_preview.cgi?cardsetID=128750"
DOSE_PAGE = "http://docmat.uagro.mx/inicio/images/v502skof/herbicide-dose-calculation-method-ddd511"
DUST_PAGE = (
    "Pesticides in the Military, p. 43, http://armymedical.tpub.com/MD0173/"
    "Pounds-of-Toxicant-per-Acre-and-Pounds-of-Diluted-Dust-Per-Acre-Computation-Pesticides-in-the-Military-43.htm"
)
WATER_LB_PER_GALLON = 8.34  # as that page has it


@pytest.mark.parametrize(
    ("answer", "published", "tolerance", "source"),
    [
        pytest.param(sprayer.gpa_from_gallons(12, 660 * 10), 79.2, 1e-9, EXAM_PAGE, id="660 ft, 10 ft swath, 12 gal"),
        pytest.param(sprayer.gpa_from_gallons(4, 300 * 30), 19.4, 0.005, DOSE_PAGE, id="4 gal on 300 x 30 ft"),
        pytest.param(sprayer.gpa_128(150, 18.5**2), 150, 0.01, HANDGUN, id="handgun, 150 oz in 75 s"),
        pytest.param(mixing.acres_per_load(25, 150), 1 / 6, 1e-9, HANDGUN, id="25 gal tank at 150 GPA"),
        pytest.param(sprayer.course_length_ft_by_inches(20), 204, 0.005, FLASH_CARDS, id="course of 20 in nozzles"),
        pytest.param(sprayer.flow_gpm_from_catch(32, 30), 0.5, 1e-9, FLASH_CARDS, id="32 oz in 30 s"),
        pytest.param(mixing.product_mass(10, 0.05), 200, 1e-9, DUST_PAGE, id="10 lb of a 5% dust"),
        pytest.param(
            mixing.product_gallons(0.3, 0.06 * WATER_LB_PER_GALLON), 0.6, 0.005, DUST_PAGE, id="0.3 lb of a 6% spray"
        ),
    ],
)
def test_it_gives_the_published_answer(answer: float, published: float, tolerance: float, source: str) -> None:
    assert answer == pytest.approx(published, rel=tolerance), source
