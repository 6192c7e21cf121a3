from django.apps import AppConfig


class SurveysConfig(AppConfig):
    """Measurements: monitors and their calibration, leak tests."""

    name = "surveys"
