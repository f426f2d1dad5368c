"""The database holds it: of each kind of crew at most one rate book is in force."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("estimates", "0003_retire_all_but_one_book_in_force")]

    operations = [
        migrations.RemoveConstraint(model_name="ratebook", name="rate_book_one_in_force"),
        migrations.AddConstraint(
            model_name="ratebook",
            constraint=models.UniqueConstraint(
                condition=models.Q(("state", "in_force")),
                fields=("crew_kind",),
                name="rate_book_one_in_force_a_crew_kind",
            ),
        ),
    ]
