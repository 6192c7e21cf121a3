from django.urls import path

from inventory.followups import views

urlpatterns = [
    path("<slug:site>/items/<code>/follow-ups/<int:seq>/", views.close, name="followup-close"),
]
