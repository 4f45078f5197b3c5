"""Where the dosing numbers come from."""

from __future__ import annotations

from clinic.sourced.sources import ASSUMED, CONFIRMED, MEMORY, SECONDARY, Source

FORMULA_LIST = Source(
    "Public list of repetition-maximum formulas; the names are those of their "
    "authors, whose own papers were not opened.",
    CONFIRMED,
)
REYNOLDS = Source(
    "Reynolds JM, Gordon TJ, Robergs RA. J Strength Cond Res 2006;20(3):584-592.",
    CONFIRMED,
)
PROGRESSION = Source(
    "Ratamess NA et al. (American College of Sports Medicine). Med Sci Sports "
    "Exerc 2009;41(3):687-708.",
    CONFIRMED,
)
STEP_ENDS = Source(
    "Lower end of the published step for small muscles or an irritable knee, upper "
    "end for large muscles and low irritability.",
    MEMORY,
)
FLOW_STAND = Source(
    "Patterson SD, Hughes L, Warmington S et al. Front Physiol 2019;10:533; doses "
    "read in summaries that cite it.",
    SECONDARY,
    "10.3389/fphys.2019.00533",
)
FLOW_PROTOCOL = Source("Published protocol, PMC7534706, Table 3.", CONFIRMED)
PAIN_ZONES = Source(
    "Pain zones after Thomeé R. Phys Ther 1997;77(12):1690-1703.", MEMORY
)
MORNING_RULE = Source(
    "Public patient page on knee-cap pain (not raised next morning: confirmed) and "
    "Silbernagel KG et al. Am J Sports Med 2007;35:897-906 (from memory). The sizes "
    "of a mild flare and a flare are this project's.",
    ASSUMED,
)
WEEKLY_RULE = Source(
    "No rise from week to week: Silbernagel KG et al. Am J Sports Med 2007;35:897-906.",
    MEMORY,
)
IRRITABILITY = Source(
    "Levels after Maitland and the shoulder guideline of Kelley 2013.", MEMORY
)
PROJECT = Source("This project's own rule; no source.", ASSUMED)
