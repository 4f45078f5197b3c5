"""Question texts: what a file must hold, who installs it, and what is shown."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from clinic.models import AuditEvent, Site, User
from outcomes.models import Wording
from outcomes.science.measures import measure
from outcomes.wording import (
    CLINICIAN_ENTRY,
    DEMONSTRATION,
    install_wording,
    texts_for,
    wording_for,
)
from outcomes.wording_file import WordingError, parse_wording, read_wording

DEMO_FOLDER = Path(__file__).parent.parent.parent / "outcomes" / "wording_demo"


def groc_file(**changes: Any) -> dict[str, Any]:
    """Return a complete wording of the global rating, with changes."""
    options = {"-7": "far worse off", "7": "far better off"}
    whole: dict[str, Any] = {
        "measure": "groc",
        "edition": 1,
        "language": "en",
        "name": "Rating of this clinic",
        "permission": "Written by the clinic itself.",
        "demonstration": False,
        "intro": "",
        "items": {"overall": {"prompt": "How is it?", "options": options}},
    }
    return {**whole, **changes}


def akps_file() -> dict[str, Any]:
    """Return the demonstration wording of the AKPS as a plain table."""
    file = read_wording(DEMO_FOLDER / "akps.toml")
    return groc_file(measure="akps", items=file.texts["items"])


def problems_of(table: dict[str, Any]) -> list[str]:
    """Return what is wrong with a wording."""
    with pytest.raises(WordingError) as caught:
        parse_wording(table)
    return caught.value.problems


def as_toml(table: dict[str, Any]) -> str:
    """Write the wording of a global rating as a file."""
    item = table["items"]["overall"]
    lines = [
        f'measure = "{table["measure"]}"',
        f"edition = {table['edition']}",
        f'language = "{table["language"]}"',
        f'name = "{table["name"]}"',
        f'permission = "{table["permission"]}"',
        f"demonstration = {str(table['demonstration']).lower()}",
        f'intro = "{table["intro"]}"',
        f'[items.overall]\nprompt = "{item["prompt"]}"\n[items.overall.options]',
        *[f'{code} = "{label}"' for code, label in item["options"].items()],
    ]
    return "\n".join(lines)


@pytest.mark.parametrize("key", ["akps", "koos_pf", "lefs", "psfs", "groc"])
def test_demonstration_wording_fits_the_catalogue(key: str) -> None:
    """Every measure has a demonstration text, complete and marked as such."""
    file = read_wording(DEMO_FOLDER / f"{key}.toml")
    assert (file.measure, file.is_demonstration) == (key, True)


@pytest.mark.parametrize("key", ["akps", "koos_pf", "lefs"])
def test_demonstration_wording_is_not_the_catalogues_labels(key: str) -> None:
    """Texts for patients and short labels for clinicians are two things."""
    items = read_wording(DEMO_FOLDER / f"{key}.toml").texts["items"]
    labels = {item.label for item in measure(key).items}
    assert not labels & {item["prompt"] for item in items.values()}


@pytest.mark.parametrize(
    ("changes", "problem"),
    [
        ({"permission": "  "}, "permission is empty. Say who permits the use."),
        ({"name": ""}, "name is empty."),
        ({"demonstration": "no"}, "demonstration must be true or false."),
        ({"edition": True}, "edition must be a whole number."),
        ({"edition": 2}, "edition must be 1: only that one is scored."),
        ({"language": "English"}, 'language must be a code such as "en" or "pt-BR".'),
        ({"colour": "x"}, "The key 'colour' is not known here."),
        ({"items": {}}, "items.overall is missing."),
        (
            {"measure": "pain_worst"},
            "measure 'pain_worst' has no wording; these have: "
            "akps, koos_pf, lefs, psfs, groc.",
        ),
    ],
)
def test_a_wrong_file_is_told_what_is_wrong(
    changes: dict[str, Any], problem: str
) -> None:
    """Each mistake has a sentence of its own."""
    assert problem in problems_of(groc_file(**changes))


def test_missing_keys_are_all_named() -> None:
    """A file with nothing in it is told everything at once."""
    assert len(problems_of({})) == 8


def test_every_question_and_answer_is_needed_and_none_else() -> None:
    """A missing question, a missing, an unknown and an empty answer are all named."""
    table = akps_file()
    del table["items"]["13"]
    table["items"]["14"] = table["items"]["1"]
    del table["items"]["2"]["options"]["c"]
    table["items"]["3"]["options"]["z"] = "?"
    table["items"]["4"]["options"]["a"] = " "
    table["items"]["5"]["prompt"] = ""
    assert problems_of(table) == [
        "items.14 is not a question of AKPS.",
        "items.2.options.c is missing.",
        "items.3.options.z is not an answer; there are a, b, c, d.",
        "items.4.options.a is empty or not text.",
        "items.5.prompt is missing or empty.",
        "items.13 is missing.",
    ]


def test_a_number_scale_needs_its_two_ends_only() -> None:
    """The numbers between the ends need no words."""
    assert parse_wording(groc_file()).measure == "groc"
    item = {"prompt": "How is it?", "options": {"7": "far better off"}}
    wrong = groc_file(items={"overall": item})
    assert problems_of(wrong) == ["items.overall.options.-7 is missing."]


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (b"measure = ", "The file is not valid TOML: "),
        (b"\xff\xfe\x00", "The file is not UTF-8 text."),
        (b"#" * 300_000, "The file is larger than 200 kB."),
    ],
)
def test_a_file_that_is_no_wording_is_refused(
    content: bytes, problem: str, tmp_path: Path
) -> None:
    """Rubbish gets a sentence, not a traceback."""
    path = tmp_path / "rubbish.toml"
    path.write_bytes(content)
    with pytest.raises(WordingError, match=problem):
        read_wording(path)


def test_without_wording_the_short_labels_are_shown(site: Site) -> None:
    """They are said to be for entry by a clinician."""
    texts = texts_for(wording_for(site, "akps"), measure("akps"))
    assert texts.item("4").prompt == "Stairs"
    assert texts.item("4").options[0].label == "easy"
    assert (texts.note, texts.is_installed) == (CLINICIAN_ENTRY, False)


def test_installed_texts_replace_every_label(site: Site, lead: User) -> None:
    """Texts and short labels are never mixed in one question."""
    install_wording(parse_wording(groc_file()), site=site, by=lead)
    texts = texts_for(wording_for(site, "groc"), measure("groc"))
    labels = {option.code: option.label for option in texts.item("overall").options}
    assert (labels[-7], labels[-6], labels[7]) == (
        "far worse off",
        "",
        "far better off",
    )
    assert texts.note == "Rating of this clinic"


def test_a_named_activity_shares_one_question(site: Site) -> None:
    """The PSFS has one text, whichever activity it is about."""
    site.is_demo = True
    site.save()
    demo_lead = User.objects.create(site=site, username="h.lead", role="lead")
    file = read_wording(DEMO_FOLDER / "psfs.toml")
    wording, _ = install_wording(file, site=site, by=demo_lead)
    texts = texts_for(wording, measure("psfs"))
    assert texts.item("1") == texts.item("7")
    assert texts.item("1").options[10].label == "like before the knee trouble"
    assert (texts.note, texts.is_demonstration) == (DEMONSTRATION, True)


def test_a_new_wording_retires_the_one_before(site: Site, lead: User) -> None:
    """The earlier one stays on record; the newest is in use; the act is audited."""
    first, _ = install_wording(parse_wording(groc_file()), site=site, by=lead)
    second, is_new = install_wording(
        parse_wording(groc_file(name="Another")), site=site, by=lead
    )
    first.refresh_from_db()
    assert is_new
    assert first.retired_at is not None
    assert wording_for(site, "groc") == second
    assert AuditEvent.objects.filter(action="wording.installed").count() == 2


def test_the_same_wording_again_changes_nothing(site: Site, lead: User) -> None:
    """Installing twice is installing once."""
    install_wording(parse_wording(groc_file()), site=site, by=lead)
    _, is_new = install_wording(parse_wording(groc_file()), site=site, by=lead)
    assert not is_new
    assert Wording.objects.count() == 1


def test_languages_stand_beside_each_other(site: Site, lead: User) -> None:
    """A second language retires nothing."""
    install_wording(parse_wording(groc_file()), site=site, by=lead)
    install_wording(parse_wording(groc_file(language="nb")), site=site, by=lead)
    assert Wording.objects.filter(retired_at__isnull=True).count() == 2


@pytest.mark.parametrize("who", ["clinician", "administrator", "stranger"])
def test_only_the_lead_installs(
    who: str, site: Site, lead: User, request: pytest.FixtureRequest
) -> None:
    """Anybody else of the site, and a person of another one, is refused."""
    person = request.getfixturevalue(who)
    with pytest.raises(WordingError, match="only a lead installs it"):
        install_wording(parse_wording(groc_file()), site=site, by=person)
    assert install_wording(parse_wording(groc_file()), site=site, by=lead)[1]


def test_demonstration_wording_never_reaches_a_real_clinic(
    site: Site, lead: User
) -> None:
    """Its scores would look like those of the validated text."""
    file = read_wording(DEMO_FOLDER / "akps.toml")
    with pytest.raises(WordingError, match="not for patients"):
        install_wording(file, site=site, by=lead)
    assert not Wording.objects.exists()


def test_another_site_sees_nothing_of_it(
    site: Site, other_site: Site, lead: User
) -> None:
    """A wording belongs to the site that may use it."""
    install_wording(parse_wording(groc_file()), site=site, by=lead)
    assert wording_for(other_site, "groc") is None


@pytest.fixture
def install(tmp_path: Path) -> Callable[..., None]:
    """Run the command on a wording of the global rating."""

    def run(*, site: str, by: str, **changes: Any) -> None:
        path = tmp_path / "groc.toml"
        path.write_text(as_toml(groc_file(**changes)), encoding="utf-8")
        call_command("install_wording", path, site=site, by=by)

    return run


def test_command_installs(
    install: Callable[..., None],
    site: Site,
    lead: User,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """It says what it did, and the second time that there was nothing to do."""
    install(site=site.name, by=lead.username)
    install(site=site.name, by=lead.username)
    first, second = capsys.readouterr().out.splitlines()
    assert first == (
        "Installed Rating of this clinic (groc, en) at Invented Knee Clinic."
    )
    assert second.endswith("was installed already; nothing changed.")


@pytest.mark.parametrize(
    ("where", "who", "changes", "message"),
    [
        ("Elsewhere", "e.corran", {}, "no clinic 'Elsewhere'"),
        ("Invented Knee Clinic", "nobody", {}, "no active person"),
        ("Invented Knee Clinic", "c.avermore", {}, "only a lead installs it"),
        ("Invented Knee Clinic", "e.corran", {"permission": ""}, "permission is empty"),
    ],
)
@pytest.mark.usefixtures("lead", "clinician")
def test_command_stops_with_a_clear_message(
    where: str,
    who: str,
    changes: dict[str, Any],
    message: str,
    install: Callable[..., None],
) -> None:
    """And nothing is installed."""
    with pytest.raises(CommandError, match=message):
        install(site=where, by=who, **changes)
    assert not Wording.objects.exists()
