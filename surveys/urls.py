from django.urls import path

from surveys.leak import views

urlpatterns = [
    path("<slug:site>/wipes/new/", views.new, name="wipe-new"),
    path("<slug:site>/records/<int:seq>/correct/", views.correct, name="record-correct"),
    path("<slug:site>/records/<int:seq>/accept/", views.accept, name="record-accept"),
]
