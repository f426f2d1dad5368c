from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("supplies", "0003_fill_label_uses_and_weather")]

    operations = [
        migrations.RemoveField(model_name="product", name="uses"),
        migrations.RemoveField(model_name="product", name="max_percent_vv"),
        migrations.RemoveField(model_name="product", name="min_temp_c"),
        migrations.RemoveField(model_name="product", name="max_temp_c"),
        migrations.RemoveField(model_name="product", name="max_wind_m_s"),
    ]
