from django.urls import path

from inventory.custody import views as custody
from inventory.documents import views as documents
from inventory.followups import step_views, views
from inventory.items import views as items
from inventory.requirements import views as plans

FOLLOW_UP = "<slug:site>/items/<code>/follow-ups/<int:seq>"

urlpatterns = [
    path("<slug:site>/follow-ups/", views.everything, name="followups"),
    path(f"{FOLLOW_UP}/", views.page, name="followup"),
    path(f"{FOLLOW_UP}/close/", views.close, name="followup-close"),
    path(f"{FOLLOW_UP}/steps/", step_views.take_over, name="followup-steps"),
    path(f"{FOLLOW_UP}/steps/new/", step_views.add, name="followup-step-new"),
    path(f"{FOLLOW_UP}/steps/<int:step>/done/", step_views.done, name="followup-step-done"),
    path(
        f"{FOLLOW_UP}/steps/<int:step>/withdraw/",
        step_views.take_back,
        name="followup-step-withdraw",
    ),
    path(
        f"{FOLLOW_UP}/steps/<int:step>/reopen/", step_views.open_again, name="followup-step-reopen"
    ),
    path("<slug:site>/book/", plans.book_lines, name="book"),
    path("<slug:site>/book/take-back/", plans.unbook_lines, name="unbook"),
    path(
        "<slug:site>/items/<code>/<slug:requirement>/not-done/",
        plans.not_done_line,
        name="not-done",
    ),
    path("<slug:site>/items/<code>/move/", custody.new, name="movement-new"),
    path("<slug:site>/items/<code>/documents/new/", documents.new, name="document-new"),
    path("<slug:site>/records/<int:seq>/documents/new/", documents.attach, name="document-attach"),
    path("<slug:site>/records/<int:seq>/files/<sha256>/", documents.download, name="document"),
    path("<slug:site>/items/new/<slug:kind>/", items.new, name="item-new"),
]
