"""Every address of the site. Who may open which stands in ``config.permissions``."""

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import include, path

from config.views import healthz

urlpatterns = [
    path("healthz", healthz, name="healthz"),
    path("login/", LoginView.as_view(redirect_authenticated_user=True), name="login"),
    path("logout/", LogoutView.as_view(), name="logout"),
    path("", include("reports.urls")),
    path("", include("surveys.urls")),
    path("", include("inventory.urls")),
]
