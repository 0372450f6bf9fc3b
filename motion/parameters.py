"""One table of every parameter the models lean on: value, unit, source or *assumed*, and how far to doubt it.

Assumed parameters carry a prior standard deviation; they are what the belief learns from logged shots.
Geometry and unit factors are not parameters: they stand in ``units``.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields

from motion.errors import number


@dataclass(frozen=True)
class Parameter:
    """One parameter; prior_sd is relative to the value if relative, else in the value's unit (0 = taken as
    known)."""

    name: str
    value: float
    unit: str
    source: str
    assumed: bool
    prior_sd: float
    relative: bool = True


_CALIBRATED = "assumed; calibrated so that ordinary shots behave as common practice says (docs/physics.md)"

_TABLE = (
    # Lane level, learned lane by lane.
    Parameter("friction_scale", 1.0, "-", "assumed: this lane against the model", True, 0.15),
    Parameter("film_scale", 1.0, "-", "assumed: film on this lane against its sheet", True, 0.10),
    Parameter(
        "line_error_boards",
        1.5,
        "boards",
        "assumed: what the model gets wrong of the offset of a line far from all thrown on the lane",
        True,
        0.0,
    ),
    Parameter(
        "line_error_reach_boards",
        5.0,
        "boards",
        "assumed: how far apart lines still share that error (about that of a film's shape, measured)",
        True,
        0.50,
    ),
    # Friction, dry: anchor 0.2 (teaching value, found); laboratory limit 0.32 for a ball (found second-hand).
    Parameter("mu_solid_reactive", 0.20, "-", "anchor 0.2 on a dry lane (teaching value, found)", True, 0.15),
    Parameter(
        "mu_solid_urethane", 0.17, "-", "assumed between reactive and plastic (common practice)", True, 0.15
    ),
    Parameter(
        "mu_solid_plastic",
        0.12,
        "-",
        "assumed; low end of the dry bounds 0.12 to 0.30 (common practice)",
        True,
        0.20,
    ),
    Parameter(
        "pearl_factor", 0.96, "-", "assumed: pearl reactive against solid, hybrid half way", True, 0.05
    ),
    Parameter(
        "boundary_factor",
        0.40,
        "-",
        "assumed: friction of oiled asperities against dry ones (boundary lubrication)",
        True,
        0.20,
    ),
    Parameter(
        "boundary_film_um", 0.10, "um", "assumed: film that is enough to oil the asperities", True, 0.50
    ),
    Parameter("mu_fluid", 0.005, "-", _CALIBRATED, True, 0.30),
    # How much solid contact there is.
    Parameter("lambda_half", 0.62, "-", _CALIBRATED, True, 0.25),
    Parameter("lambda_exponent", 1.6, "-", _CALIBRATED, True, 0.20),
    Parameter("lane_roughness_um", 0.40, "um RMS", "assumed: a synthetic lane", True, 0.30),
    Parameter("rms_over_ra", 1.2533, "-", "sqrt(pi/2), exact for a Gaussian surface", False, 0.0),
    # Film the contact lets through: soft (isoviscous-elastic) point contact, Hamrock & Dowson 1978 (from
    # memory).
    Parameter(
        "viscosity_mpas", 34.7, "mPa s", "mean of one supplier's range, UC Davis page (found)", False, 0.30
    ),
    Parameter(
        "entrainment_mps", 6.0, "m/s", "assumed: mean of ball and lane surface speed in the skid", True, 0.15
    ),
    Parameter(
        "reduced_modulus_gpa",
        3.4,
        "GPa",
        "assumed: plastic cover on a phenolic lane, from memory",
        True,
        0.30,
    ),
    Parameter(
        "starvation_exponent", 2.0, "-", "assumed: how film supplied and film let through meet", True, 0.25
    ),
    # Wear.
    Parameter("lift_share", 0.035, "-", _CALIBRATED, True, 0.35),
    Parameter(
        "track_half_width_boards",
        1.5,
        "boards",
        "assumed: spread of one ball's flare track on the lane",
        True,
        0.25,
    ),
    Parameter("kept_share_reactive", 0.85, "-", "assumed: oil the cover keeps of what it lifts", True, 0.25),
    Parameter("kept_share_urethane", 0.70, "-", "assumed", True, 0.30),
    Parameter("kept_share_plastic", 0.50, "-", "assumed", True, 0.40),
    Parameter("lift_factor_urethane", 0.80, "-", "assumed: lift against a reactive cover", True, 0.25),
    Parameter("lift_factor_plastic", 0.50, "-", "assumed: lift against a reactive cover", True, 0.30),
    Parameter(
        "lift_roughness_exponent", 0.25, "-", "assumed: lift grows with Ra / 0.5 um to this power", True, 0.50
    ),
    Parameter(
        "carry_ft", 3.0, "ft", "assumed: exponential length over which lifted oil is laid down", True, 0.40
    ),
    # Sheets.
    Parameter("film_scale_sd_sheet", 0.10, "-", "assumed: a full table, machine and tape error", True, 0.0),
    Parameter("film_shape_sd_sheet", 0.10, "-", "assumed: a full table, board by board", True, 0.0),
    Parameter("film_scale_sd_passes", 0.15, "-", "assumed: film rebuilt from a list of passes", True, 0.0),
    Parameter("film_shape_sd_passes", 0.20, "-", "assumed: film rebuilt from a list of passes", True, 0.0),
    Parameter(
        "film_scale_sd_summary", 0.20, "-", "assumed: film rebuilt from length, volume and ratio", True, 0.0
    ),
    Parameter(
        "film_shape_sd_summary", 0.40, "-", "assumed: film rebuilt from length, volume and ratio", True, 0.0
    ),
    Parameter(
        "brush_carry_ft", 2.0, "ft", "assumed: length over which a machine's brush lays oil on", True, 0.50
    ),
    Parameter(
        "summary_plateau_share", 0.35, "-", "assumed: part of the length before the film tapers", True, 0.30
    ),
    Parameter(
        "summary_end_share", 0.25, "-", "assumed: film at the end of the length against its front", True, 0.40
    ),
    # The oil on the ball's own cover, contact by contact (motion/cover_state.py); added last.
    Parameter(
        "cover_pickup_share",
        0.20,
        "-",
        "assumed: film one contact lifts from the lane; near lift_share x track / contact width",
        True,
        0.40,
    ),
    Parameter(
        "cover_capacity_per_ra",
        1.0,
        "um/um",
        "assumed: film a patch can hold, by its Ra roughness",
        True,
        0.50,
    ),
    Parameter("cover_kept_share", 0.90, "-", "assumed: film a patch keeps through one contact", True, 0.05),
    Parameter(
        "cover_given_share", 0.15, "-", "assumed: film of a patch that adds to the contact's film", True, 0.50
    ),
    Parameter(
        "cover_neutral_share",
        0.35,
        "-",
        "assumed: fill of a patch at which the friction law holds as calibrated",
        True,
        0.30,
    ),
    Parameter(
        "cover_contact_width_in",
        0.25,
        "in",
        "assumed: width of one track on the cover, rings as seen",
        True,
        0.30,
    ),
    Parameter("cover_wiped_share", 0.70, "-", "assumed: film a towel takes between shots", True, 0.20),
)

PARAMETERS: dict[str, Parameter] = {p.name: p for p in _TABLE}


# Physics must be positive to have a meaning, but for these.
_MAY_BE_ZERO = ("film_scale", "mu_fluid", "lift_share", "lift_roughness_exponent")


def value(name: str) -> float:
    """Return the value of a parameter by name."""
    return PARAMETERS[name].value


def _default(name: str) -> float:
    return field(default_factory=lambda: PARAMETERS[name].value)


@dataclass(frozen=True, kw_only=True)
class Physics:
    """The parameters friction and wear use, as one possible world holds them; defaults are the table's
    values."""

    friction_scale: float = _default("friction_scale")
    film_scale: float = _default("film_scale")
    mu_solid_reactive: float = _default("mu_solid_reactive")
    mu_solid_urethane: float = _default("mu_solid_urethane")
    mu_solid_plastic: float = _default("mu_solid_plastic")
    pearl_factor: float = _default("pearl_factor")
    boundary_factor: float = _default("boundary_factor")
    boundary_film_um: float = _default("boundary_film_um")
    mu_fluid: float = _default("mu_fluid")
    lambda_half: float = _default("lambda_half")
    lambda_exponent: float = _default("lambda_exponent")
    lane_roughness_um: float = _default("lane_roughness_um")
    rms_over_ra: float = _default("rms_over_ra")
    viscosity_mpas: float = _default("viscosity_mpas")
    entrainment_mps: float = _default("entrainment_mps")
    reduced_modulus_gpa: float = _default("reduced_modulus_gpa")
    starvation_exponent: float = _default("starvation_exponent")
    lift_share: float = _default("lift_share")
    track_half_width_boards: float = _default("track_half_width_boards")
    kept_share_reactive: float = _default("kept_share_reactive")
    kept_share_urethane: float = _default("kept_share_urethane")
    kept_share_plastic: float = _default("kept_share_plastic")
    lift_factor_urethane: float = _default("lift_factor_urethane")
    lift_factor_plastic: float = _default("lift_factor_plastic")
    lift_roughness_exponent: float = _default("lift_roughness_exponent")
    carry_ft: float = _default("carry_ft")
    cover_pickup_share: float = _default("cover_pickup_share")
    cover_capacity_per_ra: float = _default("cover_capacity_per_ra")
    cover_kept_share: float = _default("cover_kept_share")
    cover_given_share: float = _default("cover_given_share")
    cover_neutral_share: float = _default("cover_neutral_share")
    cover_contact_width_in: float = _default("cover_contact_width_in")
    cover_wiped_share: float = _default("cover_wiped_share")

    def __post_init__(self) -> None:
        for item in fields(self):
            number(item.name, getattr(self, item.name), 0.0 if item.name in _MAY_BE_ZERO else 1e-9, 1e6)


def as_markdown() -> str:
    """Return the parameter table as Markdown, as docs/physics.md shows it."""
    lines = ["| parameter | value | unit | prior sd | source |", "| --- | --- | --- | --- | --- |"]
    lines += [f"| `{p.name}` | {p.value:g} | {p.unit} | {_doubt(p)} | {p.source} |" for p in _TABLE]
    return "\n".join(lines) + "\n"


def _doubt(parameter: Parameter) -> str:
    if parameter.prior_sd == 0.0:
        return "is itself a width" if parameter.assumed else "exact"
    if parameter.relative:
        return f"{parameter.prior_sd:.0%}"
    return f"{parameter.prior_sd:g} {parameter.unit}"
