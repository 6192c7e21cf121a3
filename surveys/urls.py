from django.urls import path

from surveys import dispatch
from surveys.awaited import report_views
from surveys.awaited import views as awaited
from surveys.laboratories import views as laboratories
from surveys.leak import views
from surveys.monitors import views as monitors
from surveys.receipt import views as receipt
from surveys.sessions import counters, recorded
from surveys.sessions import views as sessions

urlpatterns = [
    path("<slug:site>/wipes/new/", views.new, name="wipe-new"),
    path("<slug:site>/wipes/send/", awaited.send, name="wipes-send"),
    path("<slug:site>/wipes/awaited/", awaited.page, name="awaited"),
    path("<slug:site>/records/<int:seq>/give-up/", awaited.lost, name="wipe-give-up"),
    path("<slug:site>/laboratories/", laboratories.index, name="laboratories"),
    path("<slug:site>/laboratories/new/", laboratories.new, name="laboratory-new"),
    path("<slug:site>/laboratories/<code>/", laboratories.page, name="laboratory"),
    path("<slug:site>/laboratories/<code>/report/", report_views.enter, name="report-new"),
    path("<slug:site>/sessions/new/", sessions.new, name="session-new"),
    path("<slug:site>/sessions/<int:seq>/", recorded.page, name="session"),
    path("<slug:site>/sessions/<int:seq>/accept/", recorded.accept, name="session-accept"),
    path("<slug:site>/counters/", counters.page, name="counters"),
    path("<slug:site>/monitors/new/", monitors.new, name="monitor-new"),
    path("<slug:site>/items/<code>/calibrations/new/", monitors.calibrate, name="calibration-new"),
    path("<slug:site>/items/new/<slug:kind>/", receipt.new, name="item-new"),
    path("<slug:site>/items/<code>/move/", receipt.move, name="movement-new"),
    path("<slug:site>/items/<code>/describe/", dispatch.describe, name="item-describe"),
    path("<slug:site>/records/<int:seq>/correct/", dispatch.correct, name="record-correct"),
    path("<slug:site>/records/<int:seq>/accept/", views.accept, name="record-accept"),
]
