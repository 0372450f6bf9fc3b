"""A sheet as typed, as numbers, and what can be wrong with it; with the limits that are allowed."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from motion.film import Sheet

LENGTH_FT = (20.0, 60.0)
DISTANCE_FT = (0.0, 60.0)
MAX_DISTANCES = 20
MAX_ROWS = 60
MAX_PASSES = 40
# A reading beyond these is a slip of the keyboard: tape readings of 40 to 100 units are quoted (from memory).
OIL_MAX = {"units": 200.0, "ul": 300.0}
OIL_WORDS = {"units": "units", "ul": "µL per board and foot"}
OIL_KINDS = {"units": "units", "ul": "ul_per_board_ft"}
VOLUME_ML = (1.0, 100.0)
RATIO = (1.0, 30.0)
VISCOSITY_CP = (1.0, 500.0)
# Allowed in USBC competition at 70 °F (release of 21 November 2007). Outside it we keep it and say so.
VISCOSITY_RULE_CP = (12.0, 81.0)
PASS_LOADS = (1, 20)
PASS_UL = (0.1, 200.0)
DIRECTIONS = ("outward", "return")
BOARDS_ALLOWED = "1 to 39 counted from the right, or a side as 12R, or a band as 3L-5R allowed"
ENTRIES = ("table", "passes", "summary")


@dataclass(frozen=True)
class Problem:
    """One thing wrong. `key` is the name of the input it stands in; `field` what the API calls it."""

    key: str
    field: str
    message: str


class SheetError(ValueError):
    """A sheet that cannot be read, with every problem found in it."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__(" ".join(problem.message for problem in self.problems))


@dataclass
class RawRow:
    """One row of the table as typed: a board or a band of boards, and its oil at each distance."""

    label: str
    cells: list[str]


@dataclass
class RawTable:
    distances: list[str] = field(default_factory=list)
    rows: list[RawRow] = field(default_factory=list)


@dataclass
class RawPass:
    """One pass as typed: loads times the volume per load on each board of a band, between two distances."""

    boards: str = ""
    loads: str = ""
    volume_ul: str = ""
    from_ft: str = ""
    to_ft: str = ""
    direction: str = "outward"

    def is_blank(self) -> bool:
        return not any(t.strip() for t in (self.boards, self.loads, self.volume_ul, self.from_ft, self.to_ft))


@dataclass
class RawSheet:
    """Everything typed about a sheet, as text."""

    entry: str = "table"
    unit: str = "units"
    length_ft: str = ""
    stated_volume_ml: str = ""
    ratio: str = ""
    viscosity_cp: str = ""
    lane_surface: str = ""
    source_note: str = ""
    table: RawTable = field(default_factory=RawTable)
    passes: list[RawPass] = field(default_factory=list)


@dataclass(frozen=True)
class PassNumbers:
    boards: str
    loads: int
    volume_ul: float
    from_ft: float
    to_ft: float
    direction: str


@dataclass(frozen=True)
class ParsedSheet:
    """The numbers. `oil` is (n, 39), boards from the right; empty unless `entry` is "table"."""

    entry: str
    unit: str
    length_ft: float
    distances_ft: tuple[float, ...]
    oil: tuple[tuple[float, ...], ...]
    passes: tuple[PassNumbers, ...]
    ratio: float | None
    stated_volume_ml: float | None
    viscosity_cp: float | None
    lane_surface: str
    source_note: str

    def as_motion_sheet(self) -> Sheet:
        return Sheet(
            length_ft=self.length_ft,
            distances_ft=list(self.distances_ft),  # type: ignore[arg-type]  # made an array there
            oil=[list(row) for row in self.oil],  # type: ignore[arg-type]
            oil_kind=OIL_KINDS[self.unit],
            stated_volume_ml=self.stated_volume_ml,
            viscosity_mpas=self.viscosity_cp,
        )
