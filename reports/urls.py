from django.urls import path

from reports.exchange import views as load
from reports.pages import (
    ahead,
    charts,
    due,
    home,
    item,
    movements,
    nuclide,
    record,
    sources,
    things,
)
from reports.registers import views

urlpatterns = [
    path("", home.page, name="home"),
    path("<slug:site>/", due.page, name="due"),
    path("<slug:site>/sources/", sources.page, name="sources"),
    path("<slug:site>/ahead/", ahead.page, name="ahead"),
    path("<slug:site>/ahead.<slug:ending>", ahead.file, name="ahead-file"),
    path("<slug:site>/things/", things.page, name="things"),
    path("<slug:site>/movements/", movements.page, name="movements"),
    path("<slug:site>/items/<code>/", item.page, name="item"),
    path("<slug:site>/items/<code>/charts/<slug:chart>.svg", charts.svg, name="chart"),
    path("<slug:site>/nuclides/", nuclide.listing, name="nuclides"),
    path("<slug:site>/nuclides/<path:name>/", nuclide.page, name="nuclide"),
    path("<slug:site>/records/<int:seq>/", record.page, name="record"),
    path("<slug:site>/load/", load.new, name="load-new"),
    path("<slug:site>/load/template.csv", load.template, name="load-template"),
    path("<slug:site>/load/<int:pk>/", load.file, name="load-file"),
    path("<slug:site>/load/done/<int:seq>/", load.done, name="load-done"),
    path("<slug:site>/registers/", views.registers, name="registers"),
    path("<slug:site>/registers/<slug:kind>/", views.register, name="register"),
    path(
        "<slug:site>/registers/<slug:kind>.<slug:ending>", views.register_file, name="register-file"
    ),
]
