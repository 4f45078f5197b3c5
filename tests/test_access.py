"""Who may open what: every address of the project, with every person of the cast."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl

import pytest
from django.test import Client
from django.urls import get_resolver, reverse
from django.utils import timezone

from clinic.access import ROLE_GRANTS, Capability, Role
from clinic.admitting import cover_case, discharge
from clinic.checks import every_pattern
from clinic.models import OpenSession, Screen, User
from clinic.screening import answer_screen
from outcomes.clinic_changes import note_change
from outcomes.models import AuditExport, PendingImport
from programs.lines import own_key
from programs.own_exercises import add_exercise
from tests.factories import (
    confirm_passphrase,
    make_akps,
    make_episode,
    make_event,
    make_flow_screen,
    make_letter,
    make_other_care,
    make_physical,
    make_user,
    make_visit,
)
from tests.programs.plans import first_phase, make_line, make_programme

DEVELOPERS = Path(__file__).parent.parent / "DEVELOPERS.md"

CAST = ("anonymous", "clinician", "colleague", "stranger", "lead", "administrator")


@dataclass(frozen=True, slots=True)
class Row:
    """What one address answers to each of the cast, in the order of CAST."""

    target: str
    answers: tuple[int, int, int, int, int, int]
    method: str = "get"
    sends: str = ""


PUBLIC = (200,) * 6
OWN_PAGES = (302, 200, 200, 200, 200, 200)
SITE_PAGES = (302, 200, 200, 200, 200, 403)
# A record of the clinician's site: to read, or to write in.
READ = (302, 200, 200, 404, 200, 403)
WRITE = (302, 200, 403, 404, 200, 403)
LEAD_ONLY = (302, 403, 403, 403, 200, 403)
# The lead is sent to type the passphrase again.
LEAD_AFTER_CONFIRMING = (302, 403, 403, 403, 302, 403)
PEOPLE = (302, 403, 403, 403, 200, 200)

# The one table. The second column names the record in the address, if there is one.
EXPECTED: dict[str, Row] = {
    "health": Row("", PUBLIC),
    "ready": Row("", PUBLIC),
    "sign_in": Row("", PUBLIC),
    "sign_out": Row("", PUBLIC, "post"),
    "first_sign_in": Row("link", PUBLIC),
    "set_up": Row("", (404,) * 6),
    "change_passphrase": Row("", OWN_PAGES),
    "confirm_passphrase": Row("", OWN_PAGES),
    "enter_code": Row("", (302,) * 6),
    "sign_in_again": Row("", (422,) * 6, "post"),
    "still_here": Row("", (401, 204, 204, 204, 204, 204), "post"),
    "account": Row("", OWN_PAGES),
    "second_step": Row("", (302,) * 6),
    "renew_codes": Row("", (401, 302, 302, 302, 302, 302), "post"),
    "go_on": Row("", (401, 302, 302, 302, 302, 302), "post"),
    "remove_second_step": Row("", (401, 302, 302, 302, 302, 302), "post"),
    "end_session": Row("session", (401, 302, 404, 404, 404, 404), "post"),
    "switch_person": Row("", OWN_PAGES),
    "sign_in_policy": Row("", PEOPLE),
    "people": Row("", PEOPLE),
    "new_one_time": Row("person", (401, 403, 403, 403, 200, 200), "post"),
    "deactivate": Row("person", PEOPLE),
    "let_back_in": Row("person", (401, 403, 403, 403, 302, 302), "post"),
    "add_site": Row("", (302, 403, 403, 403, 403, 200)),
    "outcomes:caseload": Row("", SITE_PAGES),
    "outcomes:measures": Row("", SITE_PAGES),
    "outcomes:admit": Row("", SITE_PAGES),
    "outcomes:patient": Row("patient", READ),
    "outcomes:change_patient": Row("patient", WRITE),
    "outcomes:sharing": Row("patient", WRITE),
    "outcomes:open_case": Row("patient", READ),
    "outcomes:case": Row("case", READ),
    "outcomes:change_case": Row("case", WRITE),
    "outcomes:void_case": Row("case", WRITE),
    "outcomes:review": Row("case", WRITE),
    "outcomes:log_visit": Row("case", WRITE),
    "outcomes:live_score": Row(
        "case", (401, 200, 200, 404, 200, 403), "post", sends="measure=akps"
    ),
    "outcomes:change_visit": Row("visit", WRITE),
    "outcomes:void_visit": Row("visit", WRITE),
    "outcomes:assessment": Row("assessment", READ),
    "outcomes:void_assessment": Row("assessment", WRITE),
    "outcomes:screen": Row("case", WRITE),
    "outcomes:decide": Row("asked", WRITE),
    "outcomes:cover": Row("case", READ),
    "outcomes:end_cover": Row("cover", (401, 302, 403, 404, 302, 403), "post"),
    "outcomes:hand_over": Row("case", WRITE),
    "outcomes:log_contact": Row("case", WRITE),
    "outcomes:record_test": Row("case", WRITE),
    "outcomes:void_result": Row("tested", WRITE),
    "outcomes:discharge": Row("case", WRITE),
    "outcomes:take_back": Row("ended", WRITE),
    "outcomes:bundle": Row("case", WRITE),
    # The lead is asked for the passphrase first.
    "outcomes:access_copy": Row("patient", (302, 403, 403, 403, 302, 403)),
    "outcomes:trail": Row("patient", LEAD_ONLY),
    "outcomes:access_report": Row("patient", LEAD_ONLY),
    "outcomes:letter_new": Row("case", WRITE),
    "outcomes:letter": Row("draft", READ),
    "outcomes:letter_sign": Row("draft", WRITE),
    "outcomes:letter_print": Row("draft", (302, 302, 302, 404, 302, 403)),
    "outcomes:letter_pdf": Row("draft", (401, 302, 302, 404, 302, 403), "post"),
    "outcomes:letter_void": Row("draft", WRITE),
    "outcomes:policy": Row("", LEAD_ONLY),
    "outcomes:policy_cost": Row("", LEAD_ONLY),
    "outcomes:import": Row("", LEAD_ONLY),
    "outcomes:import_preview": Row("upload", LEAD_ONLY),
    "outcomes:my_results": Row("", SITE_PAGES),
    "outcomes:trends": Row("", LEAD_ONLY),
    "outcomes:trends_report": Row("", LEAD_ONLY),
    "outcomes:trends_section": Row("section", LEAD_ONLY),
    "outcomes:trends_cases": Row("section", LEAD_ONLY, sends="set=flow_opened"),
    "outcomes:trends_references": Row("", LEAD_ONLY),
    "outcomes:trends_declare": Row("reference", LEAD_ONLY),
    "outcomes:trends_note_change": Row("", LEAD_ONLY),
    "outcomes:trends_void_change": Row("change", LEAD_ONLY),
    "outcomes:exports": Row("", LEAD_ONLY),
    "outcomes:export": Row("export", LEAD_ONLY),
    "outcomes:export_new": Row("", LEAD_AFTER_CONFIRMING),
    "outcomes:export_preview": Row("", LEAD_AFTER_CONFIRMING),
    "outcomes:export_file": Row("", (401, 403, 403, 403, 302, 403), "post"),
    "programs:programme": Row("case", READ),
    "programs:new_programme": Row("unplanned", WRITE),
    "programs:end_programme": Row("programme", WRITE),
    "programs:void_programme": Row("programme", WRITE),
    "programs:make_template": Row("programme", WRITE),
    "programs:add_phase": Row("programme", WRITE),
    "programs:change_phase": Row("phase", WRITE),
    "programs:prescribe": Row("phase", WRITE),
    "programs:change_prescription": Row("line", WRITE),
    "programs:stop_prescription": Row("line", WRITE),
    "programs:suggestion": Row("line", (401, 302, 403, 404, 302, 403), "post"),
    "programs:dose_help": Row("case", READ),
    "programs:exercises": Row("", SITE_PAGES),
    "programs:exercise": Row("own_key", READ),
    "programs:add_own": Row("", SITE_PAGES),
    "programs:retire_own": Row("own", (401, 302, 403, 404, 302, 403), "post"),
    "programs:flow_screen": Row("case", READ),
    "programs:void_flow_screen": Row("flow_screen", WRITE),
    "programs:report_event": Row("case", READ),
    "programs:void_event": Row("event", WRITE),
    "programs:add_other_care": Row("case", READ),
    "programs:end_other_care": Row("other_care", WRITE),
    "programs:void_other_care": Row("other_care", WRITE),
    "programs:dosing_policy": Row("", LEAD_ONLY),
    "programs:handout": Row("case", READ),
    "programs:handout_pdf": Row("case", READ),
}


def routes() -> set[str]:
    """Return the name of every route, with its namespace."""
    names = set()
    for _, pattern in every_pattern(get_resolver().url_patterns):
        app = pattern.callback.__module__.partition(".")[0]
        has_namespace = app in ("outcomes", "programs")
        names.add(f"{app}:{pattern.name}" if has_namespace else str(pattern.name))
    return names


@pytest.fixture
def cast(
    clinician: User, colleague: User, stranger: User, lead: User, administrator: User
) -> dict[str, User | None]:
    """The cast by name."""
    people = (None, clinician, colleague, stranger, lead, administrator)
    return dict(zip(CAST, people, strict=True))


@pytest.fixture
def targets(
    cast: dict[str, User | None], today: Any, clock: Any
) -> dict[str, list[Any]]:
    """One record of every kind, all of them the clinician's."""
    clinician, colleague, lead = cast["clinician"], cast["colleague"], cast["lead"]
    assert clinician and colleague and lead
    case = make_episode(by=clinician, opened_on=today - timedelta(days=30))
    ended = make_episode(by=clinician, opened_on=today - timedelta(days=300))
    on = today - timedelta(days=100)
    discharge(ended, by=clinician, on=on, reason="goals met", note="", version=1)
    visit = make_visit(episode=case, on=today - timedelta(days=7))
    akps = make_akps(episode=case, on=today - timedelta(days=28), total=70)
    asked = answer_screen(
        episode=case,
        by=clinician,
        form=Screen.Form.FULL,
        answers={"septic": True},
        on=today,
    )
    cover = cover_case(
        case, by=clinician, covered_by=lead, from_on=today, until_on=today, reason="x"
    )
    upload = PendingImport.objects.create(
        site=lead.site, by=lead, patients_csv=b"", observations_csv=b""
    )
    programme = make_programme(case, on=today)
    own = add_exercise(
        by=clinician, name="Invented drill", target="foot", how="x", source="x"
    )
    records = {
        "patient": case.patient,
        "case": case,
        "ended": ended,
        "visit": visit,
        "assessment": akps,
        "tested": make_physical(episode=case, on=today)[0],
        "asked": asked,
        "cover": cover,
        "upload": upload,
        "export": AuditExport.objects.create(
            site=lead.site, made_by=lead, destroy_by_on=on, from_on=on, until_on=on
        ),
        "change": note_change(
            site=lead.site, by=lead, happened_on=on, words="invented"
        ),
        "person": colleague,
        "session": OpenSession.objects.create(
            user=clinician,
            device="invented",
            began_at=timezone.now(),
            seen_at=timezone.now(),
        ),
        "flow_screen": make_flow_screen(episode=case, on=today),
        "event": make_event(episode=case, on=today),
        "other_care": make_other_care(episode=case, on=today),
        "unplanned": make_episode(by=clinician),
        "programme": programme,
        "phase": first_phase(programme),
        "line": make_line(programme, on=today),
        "own": own,
        "draft": make_letter(episode=case, on=today),
    }
    fixed = {
        "": [],
        "section": ["flow"],
        "reference": ["model-akps"],
        "link": ["MQ", "no-token"],
        "own_key": [own_key(own)],
    }
    return fixed | {name: [record.pk] for name, record in records.items()}


def client_of(person: User | None, signed_in: Callable[[User], Client]) -> Client:
    """Return the browser of one of the cast."""
    return signed_in(person) if person else Client()


def ask(client: Client, row: Row, path: str) -> int:
    """Return the status that the row's own request gets."""
    sent = dict(parse_qsl(row.sends))
    if row.method == "get":
        return client.get(path, sent).status_code
    return client.post(path, sent).status_code


def test_every_route_has_a_row() -> None:
    """A new page comes with a line that says who may open it."""
    assert routes() == set(EXPECTED)


@pytest.mark.parametrize("name", EXPECTED)
def test_the_table_holds(
    name: str,
    cast: dict[str, User | None],
    targets: dict[str, list[Any]],
    signed_in: Callable[[User], Client],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Each of the cast gets exactly the answer of the table."""
    monkeypatch.setattr("outcomes.policy_cost.CASES", 20)
    row = EXPECTED[name]
    path = reverse(name, args=targets[row.target])
    # The refused come first: what the others do must not be why they are refused.
    answers = dict(zip(CAST, row.answers, strict=True))
    got = {}
    for who in sorted(CAST, key=lambda who: -answers[who]):
        client = client_of(cast[who], signed_in)
        got[who] = ask(client, row, path)
    assert got == answers


@pytest.mark.parametrize(
    "name",
    [
        name
        for name, row in EXPECTED.items()
        if row.answers[0] in (302, 401) and name != "enter_code"
    ],
)
def test_a_post_is_refused_as_its_page_is(
    name: str,
    cast: dict[str, User | None],
    targets: dict[str, list[Any]],
    signed_in: Callable[[User], Client],
) -> None:
    """Whoever may not see a form cannot send it either."""
    row = EXPECTED[name]
    path = reverse(name, args=targets[row.target])
    for who, answer in zip(CAST, row.answers, strict=True):
        if answer in (403, 404):
            client = client_of(cast[who], signed_in)
            # A page that only answers a GET says 405, before it looks anything up.
            assert client.post(path).status_code in (answer, 405), who
    assert Client().post(path).status_code == 401


def test_another_sites_lead_finds_nothing(
    other_site: Any,
    targets: dict[str, list[Any]],
    signed_in: Callable[[User], Client],
) -> None:
    """A lead leads one site; the records of another do not exist."""

    client = signed_in(make_user(site=other_site, role=Role.LEAD))
    confirm_passphrase(client)
    for name, row in EXPECTED.items():
        if row.target in ("", "link", "section", "reference"):
            continue
        path = reverse(name, args=targets[row.target])
        assert ask(client, row, path) == 404, name


def test_an_expired_session_shows_nothing(
    cast: dict[str, User | None],
    targets: dict[str, list[Any]],
    signed_in: Callable[[User], Client],
) -> None:
    """A deactivated person's open session ends at the next request."""
    person = cast["clinician"]
    assert person
    client, path = signed_in(person), reverse("outcomes:case", args=targets["case"])
    assert client.get(path).status_code == 200
    User.objects.filter(pk=person.pk).update(is_active=False)
    assert client.get(path).status_code == 302


def roles_table() -> list[str]:
    """Return the rows of ROLE_GRANTS as DEVELOPERS.md has to show them."""
    return [
        f"| {capability} | "
        + " | ".join(
            "yes" if capability in ROLE_GRANTS[role] else "no" for role in Role
        )
        + " |"
        for capability in Capability
    ]


def test_the_developers_guide_shows_the_roles() -> None:
    """The table of roles has one home, and its copy in the guide is exact."""
    assert DEVELOPERS.exists(), "DEVELOPERS.md has to show the table of roles"
    text = DEVELOPERS.read_text(encoding="utf-8")
    shown = re.search(r"<!-- roles -->(.*?)<!-- /roles -->", text, re.S)
    assert shown, "DEVELOPERS.md has no table between the marks <!-- roles -->"
    assert shown[1].strip().splitlines()[2:] == roles_table()
