from django.urls import path

from shop.views import completions, cuts, jobs, lots, smell, work, workpapers

SEGMENT = "work/<int:pk>/segments/<str:ident>/"

urlpatterns = [
    path("jobs/", jobs.jobs_list, name="job_list"),
    path("jobs/<int:pk>/", jobs.job_detail, name="job_detail"),
    path("jobs/<int:pk>/cuts/", cuts.job_cuts, name="job_cuts"),
    path("work/<int:pk>/decide/", jobs.work_decide, name="work_decide"),
    path("work/<int:pk>/cancel/", jobs.work_cancel, name="work_cancel"),
    path("work/<int:pk>/smell/", smell.work_smell, name="work_smell"),
    path("work/<int:pk>/safe/", work.work_safe, name="work_safe"),
    path("work/<int:pk>/fuel/", work.work_fuel, name="work_fuel"),
    path("work/<int:pk>/fuel/undo/", work.fuel_undo, name="fuel_undo"),
    path(SEGMENT, work.work_segment, name="work_segment"),
    path(f"{SEGMENT}tick/", work.segment_tick, name="segment_tick"),
    path(f"{SEGMENT}untick/", work.segment_untick, name="segment_untick"),
    path(f"{SEGMENT}start/", work.segment_start, name="segment_start"),
    path(f"{SEGMENT}defer/", work.segment_defer, name="segment_defer"),
    path(f"{SEGMENT}resume/", work.segment_resume, name="segment_resume"),
    path(f"{SEGMENT}note/", work.segment_note, name="segment_note"),
    path("work/<int:pk>/tests/", work.work_tests, name="work_tests"),
    path("work/<int:pk>/tests/<str:key>/", work.work_test, name="work_test"),
    path("work/<int:pk>/tests/<str:key>/waive/", work.test_waive, name="test_waive"),
    path("work/<int:pk>/complete/", completions.work_complete, name="work_complete"),
    path("work/<int:pk>/paper/", workpapers.work_paper, name="work_paper"),
    path("completions/<int:pk>/addenda/new/", completions.addendum_new, name="addendum_new"),
    path("lots/", lots.reels_list, name="reel_list"),
    path("lots/receive/", lots.reel_new, name="reel_new"),
    path("lots/cuts/", cuts.cuts_open, name="cuts_open"),
    path("lots/short/", lots.shortage, name="shortage"),
    path("lots/<int:pk>/", lots.lot_detail, name="lot_detail"),
    path("lots/<int:pk>/recall/", lots.recall_new, name="recall_new"),
    path("recalls/<int:pk>/", lots.recall_detail, name="recall_detail"),
    path("recalls/<int:pk>/file/", lots.recall_file, name="recall_file"),
    path("recalls/<int:pk>/close/", lots.recall_end, name="recall_end"),
    path("recalls/notices/<int:pk>/", lots.notice_edit, name="notice_edit"),
    path("recalls/notices/<int:pk>/letter/", lots.letter_new, name="letter_new"),
]
