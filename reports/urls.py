from django.urls import path

from reports.pages import due, home, item, record, sources, things
from reports.registers import views

urlpatterns = [
    path("", home.page, name="home"),
    path("<slug:site>/", due.page, name="due"),
    path("<slug:site>/sources/", sources.page, name="sources"),
    path("<slug:site>/things/", things.page, name="things"),
    path("<slug:site>/items/<code>/", item.page, name="item"),
    path("<slug:site>/records/<int:seq>/", record.page, name="record"),
    path("<slug:site>/registers/source/", views.source_page, name="register-source"),
    path("<slug:site>/registers/source.pdf", views.source_pdf, name="register-source-pdf"),
    path("<slug:site>/registers/source.csv", views.source_csv, name="register-source-csv"),
]
