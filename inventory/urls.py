from django.urls import path

from inventory.custody import views as custody
from inventory.followups import views
from inventory.items import views as items

urlpatterns = [
    path("<slug:site>/items/<code>/follow-ups/<int:seq>/", views.close, name="followup-close"),
    path("<slug:site>/items/<code>/move/", custody.new, name="movement-new"),
    path("<slug:site>/items/new/<slug:kind>/", items.new, name="item-new"),
]
