"""The home programme on paper: what it says, what it leaves out, who made it."""

import contextlib
import os
import re
import sys
import zlib
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from clinic import screening
from clinic.models import AuditEvent, Episode, Screen, Site, User
from programs import audit
from programs.dosing.flow_questions import questions
from programs.dosing_policies import change_dosing
from programs.drawings.catalogue import SCENES, drawing_on_white
from programs.handout import Task, name_on_paper, read_handout
from programs.handout_pdf import STYLE, PdfUnavailable, pdf_of
from programs.library import library
from programs.library_entries import Kind
from programs.lines import Line
from programs.models import ClinicExercise, Phase, Prescription
from programs.planning import end_programme, start_programme
from programs.prescribing import change_prescription, prescribe, stop_prescription
from tests.factories import make_episode, make_event, make_flow_screen, make_patient

pytestmark = pytest.mark.usefixtures("clock")

NO_PDF = "no Pango found"
HARMFUL = '<script>alert("x")</script>'
CUFF = Line(
    exercise="bfr_knee_extension",
    scheme=(30, 15, 15, 15),
    rest_seconds=30,
    load="kg",
    load_kg=9,
    one_rm_kg=30,
    times_a_week=2,
    occlusion_mmhg=201,
    occlusion_side="left",
    occlusion_measured_on=date(2026, 5, 28),
    cuff_percent=50,
)
SQUAT = Line(exercise="squat_half", sets=3, repetitions=10, times_a_week=3)


@pytest.fixture
def case(clinician: User, today: date) -> Episode:
    """A left knee in care for two months."""
    patient = make_patient(by=clinician, given_name="Ada", family_name="Inventson")
    return make_episode(
        by=clinician, patient=patient, opened_on=today - timedelta(days=60)
    )


@pytest.fixture
def phase(case: Episode, clinician: User, today: date) -> Phase:
    """The first phase of a running programme."""
    made = start_programme(
        case,
        by=clinician,
        starts_on=today - timedelta(days=30),
        title="Named diagnosis",
        aim="Secret aim",
    )
    return made.phases.get()


@pytest.fixture
def give(phase: Phase, clinician: User, today: date) -> Callable[[Line], Prescription]:
    """Prescribe a line from today on."""
    return lambda line: prescribe(phase, by=clinician, line=line, on=today)


@pytest.fixture
def client(clinician: User, signed_in: Callable[[User], Client]) -> Client:
    """The clinician's browser."""
    return signed_in(clinician)


def page_of(case: Episode, kind: str = "handout") -> str:
    """Return the address of the page or of the PDF."""
    return reverse(f"programs:{kind}", args=[case.pk])


def words_of(task: Task) -> str:
    """Return everything that the sheet says about an exercise."""
    parts = (task.dose, task.often, *task.facts, *task.how, task.limit, *task.cautions)
    return " | ".join(filter(None, parts))


def only_task(case: Episode, today: date) -> Task:
    """Return the single exercise of the sheet."""
    (task,) = read_handout(case, on=today).tasks
    return task


# What a line says


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (SQUAT, ["3 sets of 10, left leg", "3 times a week", "No added"]),
        (
            Line(exercise="squat_half", on_side="other", sets=1, repetitions=8),
            ["1 set of 8, right leg"],
        ),
        (
            Line(exercise="wall_squat_hold", on_side="both", sets=4, hold_seconds=30),
            ["Hold for 30 seconds, 4 times, both sides"],
        ),
        (
            Line(
                exercise="thigh_squeeze",
                sets=2,
                repetitions=10,
                hold_seconds=5,
                times_a_week=14,
                rest_seconds=120,
            ),
            [
                "2 sets of 10, hold for 5 seconds each time, left leg",
                "Twice a day",
                "Rest 2 minutes between sets.",
            ],
        ),
        (
            Line(exercise="walk_brisk", minutes=20, times_a_week=7, load="none"),
            ["20 minutes | Every day | Walk"],
        ),
        (
            Line(
                exercise="squat_weight",
                sets=3,
                repetitions=8,
                load="kg",
                load_kg=12.25,
                tempo="2 seconds up, 2 seconds down (from memory)",
                range_from=0,
                range_to=45,
            ),
            [
                "Weight: 12.25 kg.",
                "Speed: 2 seconds up, 2 seconds down.",
                "Bend the knee from straight to 45 degrees, no further.",
            ],
        ),
        (
            Line(
                exercise="band_side_step",
                on_side="both",
                sets=2,
                repetitions=15,
                load="band",
                band="the long one",
            ),
            ["Band: the long one."],
        ),
        (
            Line(
                exercise="leg_press_deep",
                sets=3,
                repetitions=8,
                load="percent",
                load_percent=70,
                one_rm_kg=100,
            ),
            ["Weight: 70 kg."],
        ),
        (
            Line(
                exercise="leg_press_deep",
                sets=3,
                repetitions=8,
                load="percent",
                load_percent=70,
            ),
            ["Weight: as set with you in the clinic."],
        ),
        (
            Line(exercise="taping_tailored", load="none"),
            [
                "Left side",
                "For 4 weeks at first: have your clinic look at it by 29\xa0Jun",
                "Take it off at once if it itches",
            ],
        ),
        (
            Line(exercise="education_pain_rule", load="none"),
            ["See “How much pain is all right”."],
        ),
    ],
    ids=lambda value: value.exercise if isinstance(value, Line) else "",
)
def test_a_line_reads_in_plain_words(
    case: Episode,
    give: Callable[[Line], Prescription],
    today: date,
    line: Line,
    said: list[str],
) -> None:
    """How many, how often, how heavy, which side, how long."""
    give(line)
    words = words_of(only_task(case, today))
    for part in said:
        assert part in words


def test_an_adjunct_past_its_limit_asks_for_a_look(
    case: Episode, phase: Phase, clinician: User, today: date
) -> None:
    """Tape since the 30 days that the programme runs, against four weeks."""
    line = Line(exercise="taping_self", load="none")
    began_on = today - timedelta(days=30)
    prescribe(phase, by=clinician, line=line, on=today, starts_on=began_on)
    assert "before you go on" in only_task(case, today).limit


def test_the_pain_rule_is_the_clinics_own(
    case: Episode, give: Callable[[Line], Prescription], lead: User, client: Client
) -> None:
    """Where the lead narrowed the zones, no other number is on the sheet."""
    give(SQUAT)
    give(Line(exercise="education_pain_rule", load="none"))
    values = {"easy_pain": 1.5, "pain_limit": 4}
    change_dosing(site=case.site, by=lead, values=values, is_advice_on=True, version=0)
    text = client.get(page_of(case)).content.decode()
    assert "<b>0 to 1.5:</b>" in text and "<b>Up to 4:</b>" in text
    assert "<b>Above 4, or still up next morning:</b>" in text
    assert "up to 5" not in text


# With a cuff


def test_a_cuff_comes_with_its_pressure_and_its_stop_signs(
    case: Episode, give: Callable[[Line], Prescription], today: date, client: Client
) -> None:
    """The pressure is rounded down; the signs are those of the screen."""
    make_flow_screen(episode=case, on=today)
    give(CUFF)
    words = words_of(only_task(case, today))
    assert "30 times, then 15, then 15, then 15, left leg" in words
    assert "Cuff: 100 mmHg, left leg only." in words
    assert "Let the air out before 20 minutes have passed." in words
    assert "Somebody stays beside you" in words
    text = client.get(page_of(case)).content.decode()
    for sign in questions().stop_signs:
        assert sign.sign in text and sign.act in text


def test_without_a_cuff_its_stop_signs_are_not_there(
    case: Episode, give: Callable[[Line], Prescription], client: Client
) -> None:
    """A sheet of squats does not speak of cuffs."""
    give(SQUAT)
    assert "cuff" not in client.get(page_of(case)).content.decode().lower()


def test_a_cuff_is_left_off_when_its_screen_no_longer_holds(
    case: Episode, give: Callable[[Line], Prescription], today: date, client: Client
) -> None:
    """An adverse event closes the gate; the screen says why, the paper nothing."""
    make_flow_screen(episode=case, on=today)
    give(CUFF)
    give(SQUAT)
    make_event(episode=case, on=today)
    sheet = read_handout(case, on=today)
    assert [task.name for task in sheet.tasks] == [library()["squat_half"].name]
    (warning,) = sheet.warnings
    assert "Left off the sheet: Knee extension with blood-flow" in warning
    text = client.get(page_of(case)).content.decode()
    assert warning in text
    assert "cuff" not in paper(text).lower()


def test_an_undecided_red_flag_is_said_on_the_screen_alone(
    case: Episode,
    clinician: User,
    give: Callable[[Line], Prescription],
    today: date,
    client: Client,
) -> None:
    """The clinician decides whether it goes out; the sheet does not tell."""
    give(SQUAT)
    screening.answer_screen(
        episode=case,
        by=clinician,
        form=Screen.Form.SHORT,
        answers={"clot": True},
        on=today,
    )
    text = client.get(page_of(case)).content.decode()
    assert "A red-flag answer awaits a decision." in text
    assert "awaits a decision" not in paper(text)


# What runs, and what does not


def paper(page: str) -> str:
    """Return the part of a page that is printed."""
    found = re.search(r'<article class="sheet.*</article>', page, re.S)
    assert found
    return found[0]


def names(case: Episode, on: date) -> list[str]:
    """Return the exercises of the sheet of a day."""
    return [task.name for task in read_handout(case, on=on).tasks]


def test_stopped_replaced_and_waiting_lines_stay_off(
    case: Episode,
    phase: Phase,
    clinician: User,
    give: Callable[[Line], Prescription],
    today: date,
) -> None:
    """What runs today, and nothing else."""
    stopped, replaced = (
        give(SQUAT),
        give(Line(exercise="bridge", sets=2, repetitions=8)),
    )
    later = Line(exercise="walk_brisk", minutes=10)
    tomorrow = today + timedelta(days=1)
    prescribe(phase, by=clinician, line=later, on=today, starts_on=tomorrow)
    stop_prescription(stopped, by=clinician, on=today, why="settled")
    harder = Line(exercise="bridge_march", sets=2, repetitions=8)
    change_prescription(replaced, by=clinician, line=harder, on=today, why="easy")
    assert names(case, today) == [library()["bridge_march"].name]
    assert library()["walk_brisk"].name in names(case, tomorrow)


def test_nothing_is_left_once_the_programme_ended(
    case: Episode,
    phase: Phase,
    clinician: User,
    give: Callable[[Line], Prescription],
    today: date,
    client: Client,
) -> None:
    """The page says so; nothing is made, and nothing goes on record."""
    give(SQUAT)
    programme = phase.programme
    end_programme(
        programme, by=clinician, on=today, why="done", version=programme.version
    )
    for kind in ("handout", "handout_pdf"):
        answer = client.post(page_of(case, kind))
        assert answer.status_code == 200
        assert "Nothing to print" in answer.content.decode()
    assert not AuditEvent.objects.filter(action=audit.HANDOUT_MADE.code).exists()


def test_a_retired_entry_of_the_clinic_is_printed_where_it_runs(
    case: Episode,
    clinician: User,
    give: Callable[[Line], Prescription],
    today: date,
) -> None:
    """Retired means: not chosen anew."""
    own = own_exercise(clinician)
    give(Line(clinic_exercise=own, sets=2, repetitions=6))
    ClinicExercise.objects.update(retired_at="2026-06-01T08:00Z")
    task = only_task(case, today)
    assert task.name == "Invented stair game" and task.picture == ""
    assert task.how == ("Up two.", "Down one.") and task.cautions == ("Hold the rail.",)


def own_exercise(clinician: User, **values: str) -> ClinicExercise:
    """Keep an invented entry of the clinic."""
    defaults = {
        "name": "Invented stair game",
        "target": "quadriceps",
        "how": "Up two.\nDown one.",
        "cautions": "Hold the rail.",
        "source": "common practice",
    }
    return ClinicExercise.objects.create(
        site=clinician.site, added_by=clinician, **{**defaults, **values}
    )


# Who is named, and what is not


def test_the_paper_names_little(
    case: Episode, clinician: User, give: Callable[[Line], Prescription], client: Client
) -> None:
    """Given name and initial, clinician, clinic, day; no number, title or aim."""
    give(SQUAT)
    sheet = paper(client.get(page_of(case)).content.decode())
    for part in ("Ada I.", "1 Jun 2026", str(clinician), case.site.name):
        assert part in sheet
    for part in ("Inventson", case.patient.record_number, "diagnosis", "Secret aim"):
        assert part not in sheet
    assert "Invented demonstration" not in sheet


def test_a_name_without_family_has_no_initial(clinician: User) -> None:
    """No stray full stop."""
    assert name_on_paper(make_patient(by=clinician, family_name=" ")) == "Ada"


def test_a_demonstration_says_so_on_paper(
    case: Episode, site: Site, give: Callable[[Line], Prescription], client: Client
) -> None:
    """Paper leaves the screen's banner behind."""
    Site.objects.filter(pk=site.pk).update(is_demo=True)
    give(SQUAT)
    sheet = paper(client.get(page_of(case)).content.decode())
    assert "Invented demonstration: no real person" in sheet


def test_notes_go_on_paper_only_when_asked_for(
    case: Episode, give: Callable[[Line], Prescription], client: Client
) -> None:
    """A note may have been meant for colleagues."""
    give(Line(exercise="bridge", sets=2, repetitions=8, note="Invented note"))
    text = client.get(page_of(case)).content.decode()
    assert "Invented note" in text and "Invented note" not in paper(text)
    asked = client.post(page_of(case), {"has_notes": "on"}).content.decode()
    assert "Invented note" in paper(asked)


def test_typed_words_are_words(
    case: Episode, clinician: User, give: Callable[[Line], Prescription], client: Client
) -> None:
    """Markup in what people typed is printed as text, on the page and in the PDF."""
    type(case.patient).objects.update(given_name=HARMFUL)
    own = own_exercise(clinician, name=HARMFUL, how=HARMFUL, cautions=HARMFUL)
    give(Line(clinic_exercise=own, sets=2, repetitions=6, note=HARMFUL, tempo=HARMFUL))
    typed = {"call": HARMFUL, "has_notes": "on"}
    text = client.post(page_of(case), typed).content.decode()
    assert HARMFUL not in text
    assert paper(text).count("&lt;script&gt;") == 7
    link = '<link rel="stylesheet" href="file:///etc/hostname"><img src="file:///x">'
    if has_pdf():
        assert pdf_of(f"<html lang=en><title>x</title>{link}").startswith(b"%PDF")


# Making it


def test_making_it_goes_on_record_and_what_was_typed_does_not(
    case: Episode, clinician: User, give: Callable[[Line], Prescription], client: Client
) -> None:
    """A look leaves no trace, a print does; neither address nor trail hold the line."""
    give(SQUAT)
    path = page_of(case)
    assert "sheet-blank" in client.get(path).content.decode()
    made = AuditEvent.objects.filter(action=audit.HANDOUT_MADE.code)
    assert not made.exists()
    answer = client.post(path, {"call": "555 0100, mornings"})
    assert "no-store" in answer["Cache-Control"]
    assert "555 0100, mornings" in paper(answer.content.decode())
    (event,) = made
    assert event.by == clinician and event.patient == case.patient
    assert event.detail["kind"] == "page" and event.detail["episode"] == case.pk
    assert "mornings" not in str(event.detail)


def test_a_line_that_is_too_long_comes_back(
    case: Episode, give: Callable[[Line], Prescription], client: Client
) -> None:
    """Nothing is made of it, on the page or as a PDF."""
    give(SQUAT)
    for kind in ("handout", "handout_pdf"):
        answer = client.post(page_of(case, kind), {"call": "x" * 121})
        assert answer.status_code == 422
        assert "at most 120" in answer.content.decode()
    assert not AuditEvent.objects.filter(action=audit.HANDOUT_MADE.code).exists()


def test_a_voided_case_hands_nothing_out(
    case: Episode,
    clinician: User,
    give: Callable[[Line], Prescription],
    client: Client,
    today: date,
) -> None:
    """The patient's page says why."""
    give(SQUAT)
    Episode.objects.update(
        voided_at="2026-06-01T08:00Z", voided_by=clinician, void_reason="mistake"
    )
    for kind in ("handout", "handout_pdf"):
        assert client.post(page_of(case, kind)).status_code == 302


# The PDF


def has_pdf() -> bool:
    """Tell whether this machine can make PDFs; in continuous integration it must."""
    try:
        pdf_of("<html lang=en><title>x</title>")
    except PdfUnavailable:
        if os.environ.get("CI") == "true":
            pytest.fail(f"{NO_PDF}, and CI is true", pytrace=False)
        return False
    return True


@pytest.fixture
def needs_pdf() -> None:
    """Skip where the PDF library finds no Pango."""
    if not has_pdf():
        pytest.skip(NO_PDF)


def pages_of(made: bytes) -> int:
    """Count the pages of a PDF, whose objects lie in packed streams."""
    text = made
    for packed in re.findall(rb"stream\r?\n(.*?)endstream", made, re.S):
        with contextlib.suppress(zlib.error):
            text += zlib.decompressobj().decompress(packed)
    return len(re.findall(rb"/Type\s*/Page\b", text))


@pytest.mark.usefixtures("needs_pdf")
def test_the_pdf_names_nobody_in_its_address_or_file(
    case: Episode, give: Callable[[Line], Prescription], client: Client
) -> None:
    """A file lies about in downloads: its name says what it is, not whose."""
    give(SQUAT)
    answer = client.post(page_of(case, "handout_pdf"), {"call": "555 0100"})
    assert answer.status_code == 200 and answer.content.startswith(b"%PDF")
    assert answer["Content-Type"] == "application/pdf"
    expected = 'inline; filename="home-programme-2026-06-01.pdf"'
    assert answer["Content-Disposition"] == expected
    assert "no-store" in answer["Cache-Control"]
    (event,) = AuditEvent.objects.filter(action=audit.HANDOUT_MADE.code)
    assert event.detail["kind"] == "pdf"


def longest(count: int, *kinds: Kind) -> list[str]:
    """Return the entries of these kinds with most to say, done without a cuff."""
    entries = [each for each in library().values() if each.kind in kinds]
    said = {
        each.key: " ".join((*each.how, *each.cautions))
        for each in entries
        if not each.is_bfr
    }
    return sorted(said, key=lambda key: -len(said[key]))[:count]


def dosed(key: str, **more: Any) -> Line:
    """Return a line with the dose that its kind allows."""
    if library()[key].kind in (Kind.ADJUNCT, Kind.EDUCATION):
        return Line(exercise=key, load="none")
    return Line(
        exercise=key, sets=3, repetitions=12, rest_seconds=90, times_a_week=3, **more
    )


def keep_pdf(name: str, made: bytes) -> None:
    """Keep a PDF in the folder $SHOTS, when that is set, to look at."""
    if folder := os.environ.get("SHOTS"):
        (Path(folder) / f"{name}.pdf").write_bytes(made)


@pytest.mark.usefixtures("needs_pdf")
@pytest.mark.parametrize("count", [1, 4, 5, 6, 7, 8])
def test_the_wordiest_eight_fit_on_two_pages(
    case: Episode,
    give: Callable[[Line], Prescription],
    site: Site,
    client: Client,
    count: int,
) -> None:
    """The entries with most to say, with every fact a dose can have."""
    Site.objects.filter(pk=site.pk).update(is_demo=True)
    for key in longest(count, *Kind):
        give(dosed(key, hold_seconds=5, tempo="2 seconds up, 2 seconds down"))
    answer = client.post(page_of(case, "handout_pdf"), {"call": "555 0100 " * 13})
    keep_pdf(f"handout_{count}", answer.content)
    assert pages_of(answer.content) == (1 if count == 1 else 2)


@pytest.mark.usefixtures("needs_pdf")
def test_eight_with_a_cuff_fit_on_two_pages(
    case: Episode,
    give: Callable[[Line], Prescription],
    today: date,
    client: Client,
) -> None:
    """The stop signs of the cuff come on top of the seven wordiest exercises."""
    make_flow_screen(episode=case, on=today)
    give(CUFF)
    for key in longest(7, Kind.EXERCISE):
        give(dosed(key))
    answer = client.post(page_of(case, "handout_pdf"), {"call": "555 0100, mornings"})
    keep_pdf("handout_cuff", answer.content)
    assert pages_of(answer.content) == 2


@pytest.mark.parametrize("error", [ImportError, OSError])
def test_without_the_library_the_browser_prints(
    case: Episode,
    give: Callable[[Line], Prescription],
    client: Client,
    monkeypatch: pytest.MonkeyPatch,
    error: type[Exception],
) -> None:
    """A missing package and a missing system library answer with the same sentence."""

    class Missing:
        def find_spec(self, name: str, *_: Any) -> None:
            if name == "weasyprint":
                raise error(name)

    give(SQUAT)
    for name in [name for name in sys.modules if name.startswith("weasyprint")]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setattr(sys, "meta_path", [Missing(), *sys.meta_path])
    answer = client.get(page_of(case, "handout_pdf"))
    assert answer.status_code == 503
    assert "Print the sheet from the browser instead" in answer.content.decode()
    assert not AuditEvent.objects.filter(action=audit.HANDOUT_MADE.code).exists()


# The pictures


@pytest.mark.parametrize("key", sorted(SCENES))
def test_a_drawing_for_paper_needs_no_masks_and_no_ids(key: str) -> None:
    """Twice on a page, and in programs that know no masks."""
    drawn = drawing_on_white(key)
    assert drawn.startswith("<svg") and "currentColor" in drawn
    assert "mask" not in drawn and "id=" not in drawn


def test_an_exercise_without_a_drawing_has_no_gap(
    case: Episode, give: Callable[[Line], Prescription], today: date
) -> None:
    """Its words take the whole width."""
    give(Line(exercise="toe_lifts", sets=2, repetitions=10))
    assert only_task(case, today).picture == "" == drawing_on_white("toe_lifts")


def test_nothing_on_the_sheet_is_small() -> None:
    """At least 14 points on paper."""
    style = STYLE.read_text(encoding="utf-8")
    sizes = [float(size) for size in re.findall(r"\b([\d.]+)pt\b", style)]
    assert sizes and min(sizes) >= 14
    assert not re.search(r"font-size: [\d.]+(?!pt|[\d.])", style)
