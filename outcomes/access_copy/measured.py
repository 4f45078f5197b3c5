"""Chapters of what was measured: questionnaires, pain, activities, physical tests."""

from clinic.templatetags.clinic_format import day
from clinic.templatetags.clinic_format import score as score_words

from ..models import Activity, Assessment, PainScore, PhysicalResult
from ..science.measures import Measure, measure
from ..science.physical_file import physical_tests
from ..science.physical_tests import PhysicalTest
from ..science.thresholds import Kind as Size
from .kinds import Kind, Known, on_day
from .shape import Fact, fact


def measure_heading(row: Assessment) -> str:
    """Return "Anterior Knee Pain Scale, 3 Mar 2026"."""
    return f"{measure(row.measure).name}, {day(row.assessed_on)}"


def answers(row: Assessment, known: Known) -> list[Fact]:
    """Return each answer under a short label of our own; activities in own words."""
    about = measure(row.measure)
    return [_answer(about, str(key), code, known) for key, code in row.answers.items()]


def _answer(about: Measure, key: str, code: str | int | None, known: Known) -> Fact:
    item = about.item(key)
    asked = item.label if item else f"Item {key}"
    if about.has_own_items:
        asked = known.activities.get(key, asked)
    labels = {o.code: o.label for o in item.options} if item else {}
    meant = labels.get(code, "") if code is not None else ""
    words = "no answer" if code is None else f"{code}, {meant}" if meant else str(code)
    return Fact(f"answers.{key}", asked, code, words)


def named(row: Assessment, known: Known) -> list[Fact]:
    """Return the questionnaire by its name."""
    return [Fact("measure", "Questionnaire", row.measure, measure(row.measure).name)]


def score(row: Assessment, known: Known) -> list[Fact]:
    """Return a score with what it means; nothing where there is none."""
    if row.score is None:
        return []
    meaning = what_it_means(measure(row.measure))
    return [
        Fact("score", "Score", row.score, score_words(row.score)),
        fact("meaning", "What the score means", meaning),
    ]


def what_it_means(about: Measure) -> str:
    """Return the range and direction of a score, and which changes count."""
    span = f"{about.low:g} to {about.high:g}"
    if about.better is None:
        return f"{span}; the number says itself how much changed, 0 is the same."
    sentences = [f"{span}, {about.better.sentence}."]
    if beyond := about.threshold(Size.MDC):
        sentences.append(
            f"A change of less than {beyond.value:g} can be chance of measuring."
        )
    if matters := about.threshold(Size.MCID):
        sentences.append(
            f"In studies of groups, a change of {matters.value:g} or more mattered to "
            "people."
        )
    return " ".join(sentences)


def test_named(row: PhysicalResult) -> PhysicalTest | None:
    """Return what is known of the test of a result."""
    return physical_tests().get(row.test)


def test_heading(row: PhysicalResult) -> str:
    """Return "Hip abductor strength, left, 3 Mar 2026"."""
    about = test_named(row)
    name = about.name if about else row.test
    return ", ".join(filter(None, [name, row.side, day(row.tested_on)]))


def result(row: PhysicalResult, known: Known) -> list[Fact]:
    """Return the result with its unit, and which way is better."""
    about = test_named(row)
    if row.value is None:
        return []
    if about is None:
        return [fact("value", "Result", row.value)]
    words = f"{row.value:.10g} {about.unit}, {about.better.sentence}"
    return [Fact("value", "Result", row.value, words)]


ASSESSMENTS = Kind(
    model=Assessment,
    key="questionnaires",
    title="Questionnaires",
    about="Your answers, under short labels of the software, and the score. The "
    "wording that you were asked belongs to others and is not repeated here.",
    path="patient",
    heading=measure_heading,
    order=("assessed_on", "pk"),
    titled=("measure", "assessed_on"),
    labels={
        "mode": "How it was answered",
        "no_score_reason": "Why there is no score",
        "is_of_person": "About both knees",
        "replaces": "Corrects",
    },
    special={"measure": named, "answers": answers, "score": score},
)
ACTIVITIES = Kind(
    model=Activity,
    key="activities",
    title="Your own activities",
    about="What you named as hard to do, in your words.",
    path="patient",
    heading=lambda row: f"Activity {row.number}",
    order=("number",),
    titled=("number",),
)
PAIN = Kind(
    model=PainScore,
    key="pain",
    title="Pain",
    about="From 0, no pain, to 10, the worst imaginable; lower is better.",
    path="episode__patient",
    heading=on_day("rated_on"),
    order=("rated_on", "pk"),
    titled=("rated_on",),
    labels={
        "worst": "Worst pain, last week",
        "usual": "Usual pain, last week",
        "stairs": "On stairs",
        "squatting": "Squatting",
        "sitting": "Sitting long",
        "running": "Running",
    },
)
PHYSICAL = Kind(
    model=PhysicalResult,
    key="tests",
    title="Physical tests",
    about="What was measured of strength and movement.",
    path="patient",
    heading=test_heading,
    order=("tested_on", "test", "side", "pk"),
    titled=("test", "side", "tested_on"),
    labels={"lever_arm_m": "Lever arm, m", "body_kg": "Body weight, kg"},
    special={"value": result},
)
