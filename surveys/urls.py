from django.urls import path

from surveys import dispatch
from surveys.leak import views
from surveys.monitors import views as monitors

urlpatterns = [
    path("<slug:site>/wipes/new/", views.new, name="wipe-new"),
    path("<slug:site>/monitors/new/", monitors.new, name="monitor-new"),
    path("<slug:site>/items/<code>/calibrations/new/", monitors.calibrate, name="calibration-new"),
    path("<slug:site>/items/<code>/describe/", dispatch.describe, name="item-describe"),
    path("<slug:site>/records/<int:seq>/correct/", dispatch.correct, name="record-correct"),
    path("<slug:site>/records/<int:seq>/accept/", views.accept, name="record-accept"),
]
