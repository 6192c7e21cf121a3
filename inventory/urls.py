from django.urls import path

from inventory.documents import views as documents
from inventory.evidence import views as evidence
from inventory.followups import step_views, views
from inventory.requirements import views as plans
from inventory.schedule import (
    draft_views,
    item_views,
    row_page,
    row_views,
    rule_set_views,
    setting_views,
)
from inventory.schedule import views as schedule
from inventory.shutdowns import views as shutdowns

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
    path("<slug:site>/shutdowns/new/", shutdowns.new, name="shutdown-new"),
    path("<slug:site>/shutdowns/<int:seq>/change/", shutdowns.change_it, name="shutdown-change"),
    path(
        "<slug:site>/shutdowns/<int:seq>/take-back/",
        shutdowns.take_it_back,
        name="shutdown-take-back",
    ),
    path("<slug:site>/checks/<slug:requirement>/new/", evidence.new, name="check-new"),
    path("<slug:site>/items/<code>/happenings/new/", evidence.happened, name="happening-new"),
    path("<slug:site>/items/<code>/documents/new/", documents.new, name="document-new"),
    path("<slug:site>/records/<int:seq>/documents/new/", documents.attach, name="document-attach"),
    path("<slug:site>/records/<int:seq>/files/<sha256>/", documents.download, name="document"),
    path("<slug:site>/schedule/", schedule.page, name="schedule"),
    path("<slug:site>/schedule/differences/", schedule.beside, name="schedule-differences"),
    path("<slug:site>/schedule/effects/", schedule.effects, name="schedule-effects"),
    path("<slug:site>/schedule/rule-sets/", rule_set_views.rule_sets, name="schedule-rule-sets"),
    path("<slug:site>/schedule/draft/", draft_views.page, name="schedule-draft"),
    path("<slug:site>/schedule/draft/adopt/", draft_views.adopt, name="schedule-adopt"),
    path("<slug:site>/schedule/draft/new-kind/", draft_views.kind_new, name="schedule-kind-new"),
    path("<slug:site>/schedule/draft/new-row/", row_views.new, name="schedule-row-new"),
    path("<slug:site>/schedule/draft/rows/<row>/", row_page.row, name="schedule-row"),
    path(
        "<slug:site>/schedule/draft/rows/<row>/change/",
        row_views.change,
        name="schedule-row-change",
    ),
    path(
        "<slug:site>/schedule/draft/rows/<row>/remove/",
        row_views.remove,
        name="schedule-row-remove",
    ),
    path("<slug:site>/items/<code>/compare/", item_views.compare, name="compare"),
    path("<slug:site>/items/<code>/settings/", setting_views.settings, name="settings"),
    path("<slug:site>/items/<code>/settings/new/", setting_views.setting_new, name="setting-new"),
    path(
        "<slug:site>/items/<code>/settings/<int:seq>/end/",
        setting_views.setting_end,
        name="setting-end",
    ),
    path(
        "<slug:site>/items/<code>/<slug:requirement>/confirm/",
        item_views.confirm,
        name="change-confirm",
    ),
]
