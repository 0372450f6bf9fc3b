"""What the pages of a version show: pictures, volumes, ratios and the same numbers as a table."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from motion.errors import FloatArray
from motion.film import Ratio, ratio_by_distance, sheet_film_at, sheet_volume_ml, volume_ml
from motion.units import UNIT_UM
from patterns import pictures
from patterns.engine_inputs import film_for, sheet_of
from patterns.models import PatternVersion
from patterns.sheet_reader import all_labels
from patterns.sheet_types import DISTANCE_FT

MOST_SECTIONS = 8


@dataclass(frozen=True)
class VersionView:
    """One version with its film, and everything drawn or counted from it."""

    version: PatternVersion
    film_um: FloatArray
    scale_sd: float

    @classmethod
    def of(cls, version: PatternVersion) -> "VersionView":
        film_um, scale_sd = film_for(version)
        return cls(version, film_um, scale_sd)

    @property
    def volume_ml(self) -> float:
        if self.version.is_reconstructed:
            return volume_ml(self.film_um)
        return sheet_volume_ml(sheet_of(self.version))

    @property
    def volume_apart(self) -> float | None:
        """Percent by which the table's volume differs from the one stated, if that is more than 5."""
        stated = self.version.stated_volume_ml
        if stated is None:
            return None
        apart = (self.volume_ml / stated - 1.0) * 100.0
        return apart if abs(apart) > 5.0 else None

    @property
    def scale_sd_percent(self) -> float:
        return 100.0 * self.scale_sd

    def usual_distances(self) -> list[float]:
        """8 ft, the middle and 2 ft before the end: where tapes are commonly read (from memory)."""
        length = self.version.length_ft
        return sorted({8.0, round(length / 2.0, 1), length - 2.0})

    def own_distances(self) -> list[float]:
        """The sheet's own distances that carry oil; a rebuilt film has none of its own."""
        if self.version.is_reconstructed:
            return []
        return [float(d) for d in self.version.distances_ft if d <= self.version.length_ft]

    def row_at(self, distance_ft: float) -> FloatArray:
        """Film across the lane (39,) [um] at a distance, as the sheet reads."""
        row: FloatArray
        if self.version.is_reconstructed:
            near = min(int(distance_ft), 59)
            share = distance_ft - near
            row = self.film_um[near] * (1.0 - share) + self.film_um[near + 1] * share
        else:
            row = sheet_film_at(sheet_of(self.version), np.array([distance_ft]))[0]
        return row

    def ratio_at(self, distance_ft: float) -> Ratio:
        source = self.film_um if self.version.is_reconstructed else sheet_of(self.version)
        return ratio_by_distance(source, distance_ft)

    def ratios(self, more: list[float]) -> list[dict[str, Any]]:
        distances = sorted({*self.usual_distances(), *self.own_distances(), *more})
        return [
            {
                "distance": distance,
                "right": ratio_words(ratio.right),
                "left": ratio_words(ratio.left),
                "boards": f"{ratio.centre_boards} over {ratio.right_boards} and {ratio.left_boards}",
            }
            for distance in distances
            for ratio in [self.ratio_at(distance)]
        ]

    def sections(self, distances: list[float]) -> list[dict[str, Any]]:
        """A drawing for each distance, all on one scale."""
        rows = {distance: self.row_at(distance) for distance in distances}
        scale = pictures.scale_for([self.film_um])
        top = scale.edges_um[-1]
        return [
            {
                "distance": distance,
                "svg": pictures.section_svg(row, distance_ft=distance, top_um=top, scale=scale),
            }
            for distance, row in rows.items()
        ]

    def plan_svg(self) -> str:
        title = f"Oil on the lane, {self.version}"
        return pictures.film_plan_svg(
            self.film_um, length_ft=self.version.length_ft, own_side=None, title=title
        )

    def board_volumes_svg(self) -> str:
        return pictures.board_volumes_svg(self.film_um)

    def table(self) -> dict[str, Any]:
        """The numbers behind the pictures, by board and distance."""
        if self.version.is_reconstructed:
            distances = self.usual_distances()
            columns = [[f"{oil / UNIT_UM:.1f}" for oil in self.row_at(d)] for d in distances]
        else:
            distances = self.version.distances_ft
            columns = [[f"{oil:g}" for oil in row] for row in self.version.oil]
        rows = [
            {"label": label, "cells": [column[k] for column in columns]}
            for k, label in enumerate(all_labels())
        ]
        return {"distances": distances, "rows": rows}


def ratio_words(ratio: float) -> str:
    if math.isnan(ratio):
        return "no oil"
    if math.isinf(ratio):
        return "no oil outside"
    return f"{ratio:.2f}:1"


def asked_distances(texts: list[str], usual: list[float]) -> tuple[list[float], list[str]]:
    """Distances asked for in the address, and what is said about those that cannot be shown."""
    found: list[float] = []
    said = []
    low, high = DISTANCE_FT
    for text in texts:
        if not text.strip():
            continue
        try:
            value = float(text.replace(",", "."))
        except ValueError:
            value = math.nan
        if low <= value <= high:
            found.append(value)
        else:
            said.append(f"Distance “{text[:20]}” is not shown: {low:g} to {high:g} ft allowed.")
    if len(found) > MOST_SECTIONS:
        said.append(f"{len(found)} distances asked for, the first {MOST_SECTIONS} are shown.")
    return sorted(set(found[:MOST_SECTIONS])) or usual, said
