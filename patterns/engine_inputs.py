"""From a stored version to what the engine takes: its film and how far that film is to be believed."""

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from motion.errors import FloatArray
from motion.film import FilmEstimate, Sheet, estimate_from_sheet, film_from_sheet
from motion.parameters import value
from motion.reconstruct import OilPass, film_from_passes, film_from_summary
from motion.units import FEET, units_to_um
from patterns.models import PatternVersion
from patterns.sheet_types import OIL_KINDS, ParsedSheet

_MOST_KEPT = 256
_films: dict[tuple[int, datetime], tuple[FloatArray, float]] = {}


@dataclass(frozen=True)
class StoredFilm:
    """The rows a version stores. For a reconstruction the distances are the nodes 0..60 ft."""

    distances_ft: list[float]
    oil: list[list[float]]


def sheet_of(version: PatternVersion) -> Sheet:
    """The version's own table as the engine knows it; for a reconstruction the rebuilt film, foot by foot."""
    return Sheet(
        length_ft=version.length_ft,
        distances_ft=np.array(version.distances_ft, dtype=np.float64),
        oil=np.array(version.oil, dtype=np.float64),
        oil_kind=OIL_KINDS[version.unit],
        stated_volume_ml=version.stated_volume_ml,
        viscosity_mpas=version.viscosity_cp,
    )


def film_for(version: PatternVersion) -> tuple[FloatArray, float]:
    """Film on the lane (61, 39) [um], boards from the right, and the relative sd of one common scale on it.

    Versions never change, so each is worked out once per process; the array is the caller's own.
    """
    key = (version.pk, version.created_at)
    if key not in _films:
        if len(_films) >= _MOST_KEPT:
            _films.clear()
        _films[key] = _film(version)
    film_um, scale_sd = _films[key]
    return film_um.copy(), scale_sd


def _film(version: PatternVersion) -> tuple[FloatArray, float]:
    if not version.is_reconstructed:
        estimate = estimate_from_sheet(sheet_of(version))
        return estimate.film_um, estimate.film_scale_sd
    scale_sd = value(f"film_scale_sd_{version.entry}")
    if list(version.distances_ft) == list(range(FEET)) and version.unit == PatternVersion.Unit.UNITS:
        return units_to_um(np.array(version.oil, dtype=np.float64)), scale_sd
    return film_from_sheet(sheet_of(version)), scale_sd


def reconstruct(parsed: ParsedSheet) -> FilmEstimate:
    """The film rebuilt from a list of passes or from length, volume and ratio; raises MotionError."""
    if parsed.entry == "summary":
        if parsed.stated_volume_ml is None or parsed.ratio is None:
            raise ValueError("a summary has a volume and a ratio")
        return film_from_summary(parsed.length_ft, parsed.stated_volume_ml, parsed.ratio)
    lines = []
    for line in parsed.passes:
        first, _, last = line.boards.replace("–", "-").replace(" to ", "-").partition("-")
        lines.append(
            OilPass(
                from_board=first,
                to_board=last or first,
                ul_per_board=line.volume_ul,
                from_ft=line.from_ft,
                to_ft=line.to_ft,
                loads=line.loads,
                direction=line.direction,
            )
        )
    return film_from_passes(parsed.length_ft, lines)


def stored_film(parsed: ParsedSheet) -> StoredFilm:
    """The rows to store for a sheet: its own table, or the rebuilt film in units at every foot."""
    if parsed.entry == "table":
        return StoredFilm(list(parsed.distances_ft), [list(row) for row in parsed.oil])
    film = reconstruct(parsed).film_um
    oil: list[list[float]] = (film / units_to_um(1.0)).tolist()
    return StoredFilm([float(foot) for foot in range(FEET)], oil)
