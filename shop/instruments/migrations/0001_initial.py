import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Instrument',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('code', models.CharField(max_length=20, unique=True)),
                ('name', models.CharField(max_length=120)),
                ('kind', models.CharField(max_length=40)),
                ('unit', models.CharField(max_length=10)),
                ('resolution', models.CharField(blank=True, max_length=12)),
                ('full_scale', models.CharField(blank=True, max_length=12)),
                ('accuracy', models.CharField(blank=True, max_length=12)),
                ('accuracy_of', models.CharField(choices=[('full scale', 'full scale'), ('reading', 'reading')], default='full scale', max_length=12)),
            ],
            options={
                'constraints': [
                    models.CheckConstraint(condition=models.Q(('accuracy_of__in', ['full scale', 'reading'])), name='instrument_accuracy_of_known'),
                    models.CheckConstraint(condition=models.Q(('accuracy', ''), models.Q(('full_scale', ''), _negated=True), _connector='OR'), name='instrument_accuracy_of_scale'),
                ],
            },
        ),
        migrations.CreateModel(
            name='Calibration',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('done_on', models.DateField()),
                ('found', models.CharField(choices=[('not said', 'not said'), ('good', 'good'), ('bad', 'bad')], default='not said', max_length=8)),
                ('recorded_at', models.DateTimeField()),
                ('good_to', models.DateField()),
                ('certificate', models.CharField(max_length=80)),
                ('instrument', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='calibrations', to='instruments.instrument')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [
                    models.CheckConstraint(condition=models.Q(('good_to__gte', models.F('done_on'))), name='calibration_period'),
                    models.CheckConstraint(condition=models.Q(('found__in', ['not said', 'good', 'bad'])), name='calibration_found_known'),
                ],
            },
        ),
        migrations.CreateModel(
            name='Check',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('done_on', models.DateField()),
                ('found', models.CharField(choices=[('not said', 'not said'), ('good', 'good'), ('bad', 'bad')], default='not said', max_length=8)),
                ('recorded_at', models.DateTimeField()),
                ('against', models.CharField(max_length=120)),
                ('deviation', models.CharField(max_length=12)),
                ('done_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('instrument', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='checks', to='instruments.instrument')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('found__in', ['good', 'bad'])), name='check_found_known')],
            },
        ),
        migrations.CreateModel(
            name='BadPeriod',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('from_day', models.DateField()),
                ('to_day', models.DateField()),
                ('why', models.CharField(max_length=300)),
                ('at', models.DateTimeField()),
                ('instrument', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='bad_periods', to='instruments.instrument')),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('to_day__gte', models.F('from_day'))), name='bad_period')],
            },
        ),
    ]
