from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("supplies", "0004_drop_label_columns_that_became_rows")]

    operations = [
        migrations.AddField(
            model_name="product",
            name="formulation",
            field=models.CharField(
                blank=True,
                choices=[
                    ("conditioner", "Water conditioner"),
                    ("dry", "Dry product"),
                    ("suspension", "Suspension"),
                    ("emulsion", "Emulsifiable concentrate"),
                    ("solution", "Solution"),
                    ("surfactant", "Surfactant"),
                    ("dye", "Marker dye"),
                    ("oil", "Oil"),
                ],
                default="",
                help_text="When it goes into the tank; empty: as is usual for its part of the mix.",
                max_length=12,
            ),
            preserve_default=False,
        ),
    ]
