"""Invented people: names put together from invented parts, and their dates of birth."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

SITE = "Tidewater Row knee clinic (invented)"
YEAR_DAYS = 365.25

STARTS = (
    "Ambra Brindle Cotter Dunna Elver Farrow Gannet Hesker Inkle Jarra Kelpin Lorrim "
    "Mallo Nettle Orrel Pinna Quarle Rusk Sorrel Tamber Umber Vantle Wexel Yarrow"
).split()
ENDS = "beck combe dray fold garth hythe ley mere shaw thorne wick yard".split()
GIVEN_F = (
    "Adelisa Briony Calla Dorrit Elowen Fenna Gisla Hetta Isaura Jorun Kaisa Liora "
    "Mirelle Nerys Odessa Perpetua Quilla Rosalba Saskia Tamsin Una Verity Wilhelma "
    "Ysolde"
).split()
GIVEN_M = (
    "Alaric Bertil Corin Dagmar Emrys Florin Gethin Hamo Ivo Jago Kester Lorcan "
    "Merrik Niall Osric Piran Quill Rafe Silvan Tybalt Ulric Vaughn Wystan Yorick"
).split()
# Long, accented and right-to-left names, as (family, given, sex): pages must hold them.
UNUSUAL = (
    ("Featherlingstone-Wexcombe van der Quillenhaventer", "Maximiliana-Theodosia", "F"),
    ("Ængström-Peñalúz", "Zoë", "F"),
    ("سمرداني", "ليارا", "F"),
    ("בן־תמרוני", "נוריאל", "M"),
    ("Dębowiczówna", "Łucjanna", "F"),
    ("O'Sæbjørn", "Þórvaldr", "M"),
    ("Ó Fearghalláin Mac an tSaoirín", "Caoilfhionnán", "M"),
    ("Hồng-Lâm", "Ngọcanh", "F"),
)


@dataclass(frozen=True, slots=True)
class Colleague:
    """One of the people who work at the invented clinic."""

    username: str
    given_name: str
    family_name: str
    role: str


LEAD = Colleague("i.tarnwick", "Ilse", "Tarnwick", "lead")
CLINICIANS = (
    Colleague("b.ocketts", "Bram", "Ocketts", "clinician"),
    Colleague("j.pellavar", "Juno", "Pellavar", "clinician"),
    Colleague("m.everlook", "Maud", "Everlook", "clinician"),
)
ADMINISTRATOR = Colleague("s.quillamy", "Sefton", "Quillamy", "administrator")
STAFF = (LEAD, *CLINICIANS, ADMINISTRATOR)


@dataclass(frozen=True, slots=True)
class Name:
    """Family name, given name and sex of one invented patient."""

    family: str
    given: str
    sex: str


def invent_names(count: int, *, rng: Random) -> list[Name]:
    """Return different names, the unusual ones spread among them.

    Two in three are women, as in the trials (Hansen 2023: 69 %).
    """
    families = [start + end for start in STARTS for end in ENDS]
    rng.shuffle(families)
    names = []
    for family in families[: count - len(UNUSUAL)]:
        is_woman = rng.random() < 0.69
        given = rng.choice(GIVEN_F if is_woman else GIVEN_M)
        names.append(Name(family, given, "F" if is_woman else "M"))
    step = max(count // len(UNUSUAL), 1)
    for place, parts in enumerate(UNUSUAL):
        names.insert(place * step + 2, Name(*parts))
    return names


def invent_birth_date(*, on: date, ages: tuple[int, int], rng: Random) -> date:
    """Return a day of birth that gives an age within both limits on a day."""
    youngest, oldest = ages
    # Adults lean towards the twenties (mean age 27 in Hansen 2023).
    years = rng.triangular(
        youngest + 0.05, oldest + 0.95, youngest + 0.3 * (oldest - youngest)
    )
    return on - timedelta(days=round(years * YEAR_DAYS))
