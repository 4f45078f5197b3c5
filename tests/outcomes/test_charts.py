"""The figures of a case's course: what is drawn, where, and under which role."""

from datetime import date
from typing import Any

import pytest

from outcomes.science.charts import Bands, Marked, measure_figure, pain_figure
from outcomes.science.measures import measure

SPAN = (date(2026, 3, 1), date(2026, 6, 1))
DAY = date(2026, 4, 1)


def by_role(figure: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Return the traces by their role."""
    return {trace["meta"]["role"]: trace for trace in figure["data"]}


def course(*marks: Marked) -> dict[str, Any]:
    """Return the figure of two scores with marks."""
    scores = [(SPAN[0], 58.0), (DAY, 60.0)]
    bands = Bands(58, 13, 10)
    return measure_figure(measure("akps"), scores, bands=bands, marks=marks, span=SPAN)


def test_a_decision_has_a_lane_of_its_own_above_the_scores() -> None:
    """No mark stands at a height where a score could stand."""
    figure = course(Marked(DAY, "Continue"), Marked(DAY, "Taping"))
    flag, layout = by_role(figure)["flag"], figure["layout"]
    assert flag["yaxis"] == "y2"
    assert layout["yaxis"]["domain"][1] <= layout["yaxis2"]["domain"][0]
    assert [shape["x0"] for shape in layout["shapes"]] == [DAY.isoformat()]


def test_without_decisions_there_is_no_lane() -> None:
    """The scores have the whole height."""
    figure = course()
    assert "flag" not in by_role(figure)
    assert "domain" not in figure["layout"]["yaxis"]
    assert figure["layout"]["yaxis"]["range"] == [-3, 103]


@pytest.mark.parametrize(
    ("kind", "is_drawn"),
    [("worst", True), ("usual", True), ("stairs", False), ("running", False)],
)
def test_worst_and_usual_pain_are_drawn_first(kind: str, is_drawn: bool) -> None:
    """A rating of one activity is in the figure, drawn when asked for."""
    ratings = {kind: [(DAY, 5.0)]}
    figure = pain_figure(measure("pain_worst"), ratings, bands=None, span=SPAN)
    assert by_role(figure)[f"pain-{kind}"]["visible"] is is_drawn
