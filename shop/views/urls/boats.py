from django.urls import path, register_converter
from django.urls.converters import StringConverter

from shop.views import boat_page, choices, facts, figures, measures, proposals, surveys


class StateKindConverter(StringConverter):
    regex = "found|proposed|installed"


class SubjectKindConverter(StringConverter):
    regex = "boat|fuel|engine|compartment|tank|component|segment"


register_converter(StateKindConverter, "statekind")
register_converter(SubjectKindConverter, "subjectkind")

# A name in a drawing is any text, so that it is the path's last free part.
urlpatterns = [
    path("boats/<int:pk>/", boat_page.boat_detail, name="boat_detail"),
    path("boats/<int:pk>/<statekind:kind>/", boat_page.boat_state, name="boat_state"),
    path("boats/<int:pk>/<statekind:kind>/figures/", figures.boat_figures, name="boat_figures"),
    path("boats/<int:pk>/stop/", boat_page.boat_stop, name="boat_stop"),
    path("boats/<int:pk>/stop/lift/", boat_page.boat_stop_lift, name="boat_stop_lift"),
    path("boats/<int:pk>/surveys/new/", surveys.survey_new, name="survey_new"),
    path("surveys/<int:pk>/fuel/", surveys.survey_fuel_seen, name="survey_fuel_seen"),
    path("states/<int:pk>/segment/<path:ident>/seen/", surveys.segment_seen, name="segment_seen"),
    path("boats/<int:pk>/propose/", proposals.proposal_new, name="proposal_new"),
    path("states/<int:pk>/document.json", boat_page.state_document, name="state_document"),
    path("states/<int:pk>/measures/", measures.measures_edit, name="measures_edit"),
    path(
        "states/<int:pk>/<subjectkind:kind>/<path:ident>/facts/",
        facts.facts_edit,
        name="facts_edit",
    ),
    path(
        "states/<int:pk>/segment/<path:ident>/propose/",
        proposals.segment_propose,
        name="segment_propose",
    ),
    path("states/<int:pk>/segment/<path:ident>/keep/", proposals.segment_keep, name="segment_keep"),
    path(
        "states/<int:pk>/component/<path:ident>/propose/",
        proposals.component_propose,
        name="component_propose",
    ),
    path(
        "states/<int:pk>/component/<path:ident>/keep/",
        proposals.component_keep,
        name="component_keep",
    ),
    path("states/<int:pk>/access/", proposals.access_set, name="access_set"),
    path("states/<int:pk>/choice/", choices.boat_choice, name="boat_choice"),
    path("states/<int:pk>/choice/propose/", choices.choice_propose, name="choice_propose"),
    path("states/<int:pk>/keep/", proposals.segments_keep, name="segments_keep"),
    path("changes/<int:pk>/undo/", facts.change_undo, name="change_undo"),
]
