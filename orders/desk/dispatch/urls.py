"""Addresses of the board's moves and of what is done to orders."""

from django.urls import URLPattern, path

from orders.desk.dispatch import checklist, marked, moves, order_act_pages, paper_pages
from orders.desk.views import board

urlpatterns: list[URLPattern] = [
    path("board/", board.board_now, name="board"),
    path("seasons/<uuid:season_id>/board/preview/", moves.drop_preview, name="board-preview"),
    path("seasons/<uuid:season_id>/board/drop/", moves.dropped, name="board-drop"),
    path("seasons/<uuid:season_id>/board/undo/", moves.undone, name="board-undo"),
    path("seasons/<uuid:season_id>/orders/draft/", moves.orders_drafted, name="orders-draft"),
    path("visits/<uuid:visit_id>/off/", moves.visit_off_page, name="visit-off"),
    path("asked/<uuid:work_id>/place/", moves.work_place_page, name="work-place"),
    path("sites/<uuid:site_id>/checklist/", checklist.checklist_page, name="site-checklist"),
    path("orders/marked/issue/", marked.marked_issued, name="orders-issue"),
    path("orders/orders.csv", marked.order_list_file, name="order-list-file"),
    path("orders/<uuid:order_id>/close/", paper_pages.close_page, name="order-close"),
    path("orders/<uuid:order_id>/amend/", paper_pages.amend_page, name="order-amend"),
    path("orders/<uuid:order_id>/acts/<slug:code>/", order_act_pages.order_act, name="order-act"),
]
