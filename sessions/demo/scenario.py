"""An invented club championship: people, bags, sheets, house. Nothing is real, nothing is a check value."""

from dataclasses import dataclass, field
from datetime import timedelta

TEAM = "Nether Tolling Kestrels"
HOUSE = "Nether Tolling Bowl"
LANES = 24
EVENT = "Kestrel Club Championship"
DEMO_PASSWORD = "fresh-to-burn"


@dataclass(frozen=True)
class DemoPerson:
    username: str
    name: str
    role: str


COACH = DemoPerson("hedda", "Hedda Brandvik", "coach")
GUEST = DemoPerson("piet", "Piet Solway", "guest")


@dataclass(frozen=True)
class DemoRelease:
    kind: str
    speed_mph: float
    rev_rate_rpm: float
    axis_rotation_deg: float
    axis_tilt_deg: float
    origin: str = "estimated"


@dataclass(frozen=True)
class DemoSurface:
    """One line of a surface log, so many days before the demo's today."""

    days_ago: float
    kind: str
    grits: tuple[int, ...] = ()
    by_machine: bool = False
    wet: bool | None = None
    minutes: float | None = None
    window: str = "home"
    note: str = ""


@dataclass(frozen=True)
class DemoBall:
    name: str
    cover: str
    rg_in: float
    differential_in: float
    intermediate_in: float
    weight_lb: float
    role: str
    # Pin to PAP in inches, drilling angle and VAL angle in degrees; None for an undescribed layout.
    layout: tuple[float, float, float] | None
    surface: tuple[DemoSurface, ...]
    hardness_d: float | None = 74.0
    in_bag: bool = True


@dataclass(frozen=True)
class DemoBowler:
    username: str
    name: str
    hand: str
    hands_used: int
    pap: tuple[float, float]
    gap_boards: float
    drift_boards: float
    releases: tuple[DemoRelease, ...]
    balls: tuple[DemoBall, ...]
    # Scatter from shot to shot: speed mph, launch deg, laydown boards, rev rate rpm, rotation deg.
    scatter: tuple[float, float, float, float, float]
    note: str = ""
    bag_for_block: tuple[str, ...] = field(default=())


def sanded(days: float, *grits: int, machine: bool = False, note: str = "") -> DemoSurface:
    return DemoSurface(days, "sanded", grits, by_machine=machine, wet=True, minutes=4.0, note=note)


def polished(days: float) -> DemoSurface:
    return DemoSurface(days, "polished", (2000,), by_machine=True, wet=True, minutes=5.0)


def ball(
    name: str,
    cover: str,
    core: tuple[float, float, float],
    role: str,
    layout: tuple[float, float, float] | None,
    *surface: DemoSurface,
    weight_lb: float = 15.0,
    in_bag: bool = True,
    hardness_d: float | None = 74.0,
) -> DemoBall:
    rg_in, differential_in, intermediate_in = core
    return DemoBall(
        name,
        cover,
        rg_in,
        differential_in,
        intermediate_in,
        weight_lb,
        role,
        layout,
        surface,
        hardness_d,
        in_bag,
    )


SOLID, HYBRID, PEARL = "reactive_solid", "reactive_hybrid", "reactive_pearl"

TAMSIN = DemoBowler(
    "tamsin",
    "Tamsin Orrel",
    "right",
    1,
    (5.0, 0.375),
    6.5,
    1.0,
    (
        DemoRelease("strike", 17.2, 335, 48, 12, "measured"),
        DemoRelease("flatter", 17.4, 320, 30, 10),
        DemoRelease("slower", 16.3, 325, 50, 13),
        DemoRelease("spare", 18.3, 190, 12, 9),
    ),
    (
        ball("Harbour Rope", SOLID, (2.48, 0.054, 0.018), "strong", (4.0, 50, 30), sanded(9, 500, 1000)),
        ball("Quarry Dust", SOLID, (2.49, 0.052, 0.0), "strong", (4.5, 60, 40), sanded(6, 500)),
        ball("Wet Slate", SOLID, (2.50, 0.050, 0.015), "strong", (4.25, 45, 45), sanded(20, 1000, 2000)),
        ball("Tin Lantern", HYBRID, (2.48, 0.053, 0.017), "strong", (5.0, 65, 30), sanded(12, 2000)),
        ball("Old Almanac", SOLID, (2.52, 0.046, 0.0), "benchmark", (4.5, 60, 45), sanded(4, 1000, 2000)),
        ball("Fen Candle", HYBRID, (2.53, 0.044, 0.0), "benchmark", (5.0, 70, 40), sanded(4, 2000)),
        ball("Copper Kettle", HYBRID, (2.51, 0.048, 0.012), "benchmark", (4.75, 55, 50), sanded(30, 3000)),
        ball("Second Post", PEARL, (2.54, 0.042, 0.0), "weak", (5.0, 75, 50), polished(16)),
        ball("Salt Marsh", PEARL, (2.50, 0.051, 0.016), "weak", (5.25, 80, 40), polished(11)),
        ball("Brass Thimble", PEARL, (2.56, 0.036, 0.0), "weak", (5.5, 70, 60), polished(40)),
        ball("Night Ferry", "urethane", (2.57, 0.022, 0.0), "weak", (4.0, 60, 45), sanded(8, 500)),
        ball("Chalk Pit", "plastic", (2.69, 0.010, 0.0), "spare", None, hardness_d=80.0),
        ball(
            "Rain Barrel",
            SOLID,
            (2.47, 0.056, 0.020),
            "strong",
            (3.75, 40, 35),
            sanded(60, 360),
            in_bag=False,
        ),
        ball("Oak Gall", SOLID, (2.53, 0.040, 0.0), "unset", (5.0, 50, 50), sanded(75, 1000), in_bag=False),
        ball("Plum Duff", HYBRID, (2.50, 0.049, 0.0), "unset", (4.5, 45, 60), sanded(45, 2000), in_bag=False),
        ball("Thistle Down", PEARL, (2.58, 0.030, 0.0), "weak", (5.75, 80, 65), polished(90), in_bag=False),
        ball(
            "Green Bottle",
            HYBRID,
            (2.52, 0.047, 0.010),
            "unset",
            (4.0, 60, 35),
            sanded(50, 1000),
            in_bag=False,
        ),
        ball(
            "Bellows Hymn", SOLID, (2.51, 0.045, 0.0), "unset", (3.5, 70, 40), sanded(33, 500), in_bag=False
        ),
        ball("Pewter Jug", PEARL, (2.49, 0.055, 0.019), "unset", (4.75, 50, 25), polished(58), in_bag=False),
        ball(
            "Candle Smoke", PEARL, (2.55, 0.038, 0.0), "weak", (4.5, 65, 55), sanded(70, 4000), in_bag=False
        ),
        ball("Toll Road", SOLID, (2.54, 0.034, 0.0), "unset", (5.25, 60, 60), sanded(120, 800), in_bag=False),
        ball(
            "Reed Organ",
            "urethane",
            (2.60, 0.018, 0.0),
            "weak",
            (4.5, 45, 70),
            sanded(64, 1000),
            in_bag=False,
        ),
        ball(
            "Mill Weir", HYBRID, (2.50, 0.050, 0.014), "unset", (5.0, 55, 45), sanded(25, 1500), in_bag=False
        ),
        ball(
            "Grey Heron Tea", PEARL, (2.52, 0.048, 0.0), "unset", (4.25, 70, 30), polished(80), in_bag=False
        ),
    ),
    (0.20, 0.08, 0.35, 8.0, 2.0),
    note="Keeps the middle of the bag at 2000 and lets the ends do the work.",
    bag_for_block=(
        "Harbour Rope",
        "Quarry Dust",
        "Wet Slate",
        "Old Almanac",
        "Fen Candle",
        "Copper Kettle",
        "Second Post",
        "Salt Marsh",
        "Night Ferry",
        "Chalk Pit",
    ),
)

IDRIS = DemoBowler(
    "idris",
    "Idris Vallance",
    "right",
    2,
    (4.5, 1.0),
    7.5,
    2.0,
    (
        DemoRelease("strike", 17.9, 455, 42, 6, "video"),
        DemoRelease("flatter", 18.1, 430, 25, 5),
        DemoRelease("spare", 18.8, 330, 12, 5),
    ),
    (
        ball("Iron Bramble", SOLID, (2.50, 0.048, 0.0), "strong", (4.5, 70, 45), sanded(7, 1000)),
        ball("Lamp Black", HYBRID, (2.51, 0.047, 0.0), "strong", (5.0, 65, 50), sanded(7, 2000)),
        ball("Stone Ginger", HYBRID, (2.53, 0.043, 0.0), "benchmark", (5.0, 75, 45), sanded(14, 3000)),
        ball("Ferry Bell", PEARL, (2.52, 0.046, 0.0), "benchmark", (5.25, 70, 55), polished(14)),
        ball("Moth Wing", PEARL, (2.55, 0.038, 0.0), "weak", (5.5, 80, 60), polished(22)),
        ball("Cold Anvil", "urethane", (2.58, 0.020, 0.0), "weak", (4.5, 60, 60), sanded(5, 500, 1000)),
        ball("Blue Rivet", "urethane", (2.60, 0.016, 0.0), "weak", (5.0, 70, 65), sanded(20, 2000)),
        ball("Plain Flint", "plastic", (2.70, 0.008, 0.0), "spare", None, hardness_d=79.0),
    ),
    (0.25, 0.10, 0.45, 11.0, 2.5),
)

JUNO = DemoBowler(
    "juno",
    "Juno Pellworth",
    "left",
    1,
    (5.25, 0.0),
    6.0,
    0.0,
    (
        DemoRelease("strike", 16.8, 310, 55, 14),
        DemoRelease("flatter", 17.0, 300, 35, 12),
        DemoRelease("spare", 17.8, 180, 15, 10),
    ),
    (
        ball("Heather Ale", SOLID, (2.49, 0.051, 0.014), "strong", (4.25, 55, 35), sanded(8, 500, 1000)),
        ball("Cart Track", SOLID, (2.51, 0.047, 0.0), "strong", (4.5, 60, 45), sanded(8, 1000)),
        ball("Wax Seal", HYBRID, (2.52, 0.045, 0.0), "benchmark", (4.75, 65, 45), sanded(3, 2000)),
        ball("Loose Thatch", HYBRID, (2.54, 0.041, 0.0), "benchmark", (5.0, 60, 55), sanded(17, 3000)),
        ball("Goose Step", PEARL, (2.53, 0.044, 0.0), "weak", (5.0, 75, 50), polished(10)),
        ball("Tide Clock", PEARL, (2.56, 0.035, 0.0), "weak", (5.25, 70, 60), polished(35)),
        ball("Barrow Wheel", "urethane", (2.59, 0.021, 0.0), "weak", (4.0, 60, 45), sanded(15, 1000)),
        ball("White Gravel", "plastic", (2.68, 0.009, 0.0), "spare", None, hardness_d=80.0),
    ),
    (0.20, 0.08, 0.35, 8.0, 2.0),
)

CORIN = DemoBowler(
    "corin",
    "Corin Asterley",
    "right",
    1,
    (4.75, 0.5),
    6.5,
    -1.0,
    (
        DemoRelease("strike", 19.4, 385, 38, 10, "measured"),
        DemoRelease("slower", 18.2, 370, 42, 11),
        DemoRelease("spare", 20.0, 240, 10, 8),
    ),
    (
        ball("Hard Frost", SOLID, (2.48, 0.053, 0.016), "strong", (4.0, 45, 30), sanded(5, 360, 500)),
        ball("Low Barn", SOLID, (2.47, 0.055, 0.0), "strong", (4.25, 50, 35), sanded(5, 500)),
        ball("Coal Scuttle", SOLID, (2.50, 0.050, 0.0), "benchmark", (4.5, 55, 40), sanded(11, 1000)),
        ball("Rook Call", HYBRID, (2.51, 0.048, 0.012), "benchmark", (4.5, 60, 35), sanded(11, 1500)),
        ball("Long Meadow", HYBRID, (2.53, 0.045, 0.0), "unset", (4.75, 65, 45), sanded(28, 2000)),
        ball("Silver Birch Tar", PEARL, (2.50, 0.052, 0.018), "weak", (4.5, 60, 40), polished(19)),
        ball("Sunday Hat", PEARL, (2.54, 0.043, 0.0), "weak", (5.0, 70, 50), polished(28)),
        ball("Post Horn", SOLID, (2.52, 0.044, 0.0), "unset", (4.0, 70, 30), sanded(44, 1000)),
        ball("Knot Board", "plastic", (2.69, 0.011, 0.0), "spare", None, hardness_d=79.0),
    ),
    (0.22, 0.09, 0.4, 9.0, 2.5),
)

WREN = DemoBowler(
    "wren",
    "Wren Halloway-Teal",
    "left",
    2,
    (4.25, 1.25),
    7.0,
    1.5,
    (
        DemoRelease("strike", 17.3, 430, 46, 7),
        DemoRelease("slower", 16.5, 420, 48, 7),
        DemoRelease("spare", 18.0, 300, 15, 6),
    ),
    (
        ball("Bog Oak", SOLID, (2.51, 0.046, 0.0), "strong", (4.75, 70, 50), sanded(9, 1000), weight_lb=14.0),
        ball(
            "Tallow Dip",
            HYBRID,
            (2.52, 0.045, 0.0),
            "benchmark",
            (5.0, 70, 55),
            sanded(9, 2000),
            weight_lb=14.0,
        ),
        ball(
            "Hedge Bell",
            HYBRID,
            (2.54, 0.042, 0.0),
            "benchmark",
            (5.25, 75, 50),
            sanded(18, 3000),
            weight_lb=14.0,
        ),
        ball("Pale Ember", PEARL, (2.53, 0.044, 0.0), "weak", (5.25, 80, 55), polished(18), weight_lb=14.0),
        ball("Linen Press", PEARL, (2.57, 0.033, 0.0), "weak", (5.5, 75, 65), polished(26), weight_lb=14.0),
        ball(
            "Cooper Hoop",
            "urethane",
            (2.59, 0.019, 0.0),
            "weak",
            (4.5, 65, 60),
            sanded(6, 1000),
            weight_lb=14.0,
        ),
        ball("Blank Page", "plastic", (2.70, 0.008, 0.0), "spare", None, weight_lb=14.0, hardness_d=80.0),
    ),
    (0.24, 0.10, 0.45, 11.0, 2.5),
)

MATTIS = DemoBowler(
    "mattis",
    "Mattis Lundqvist-Roe",
    "right",
    1,
    (5.5, -0.25),
    5.5,
    0.5,
    (
        DemoRelease("strike", 15.6, 255, 62, 17),
        DemoRelease("flatter", 15.8, 245, 40, 15),
        DemoRelease("spare", 16.5, 160, 20, 12),
    ),
    (
        ball("Garden Roller", SOLID, (2.50, 0.049, 0.0), "strong", (4.5, 60, 45), sanded(13, 1000)),
        ball("Dry Ditch", SOLID, (2.53, 0.042, 0.0), "strong", (5.0, 65, 50), sanded(13, 2000)),
        ball("Market Cross", HYBRID, (2.53, 0.043, 0.0), "benchmark", (5.0, 70, 50), sanded(22, 3000)),
        ball("Whistle Stop", HYBRID, (2.55, 0.039, 0.0), "benchmark", (5.25, 75, 55), sanded(22, 4000)),
        ball("Lark Rise Mill", PEARL, (2.55, 0.038, 0.0), "weak", (5.25, 75, 60), polished(30)),
        ball("Button Box", PEARL, (2.58, 0.029, 0.0), "weak", (5.5, 80, 65), polished(44)),
        ball("Parish Pump", PEARL, (2.56, 0.034, 0.0), "unset", (4.75, 65, 60), polished(61)),
        ball("Winter Barley", "urethane", (2.61, 0.015, 0.0), "weak", (5.0, 70, 65), sanded(31, 2000)),
        ball("Old Sixpence", "plastic", (2.68, 0.010, 0.0), "spare", None, hardness_d=78.0),
        ball(
            "Clay Pipe", SOLID, (2.51, 0.047, 0.011), "unset", (4.25, 50, 40), sanded(52, 800), in_bag=False
        ),
        ball(
            "Saddle Soap", HYBRID, (2.54, 0.040, 0.0), "unset", (5.0, 60, 60), sanded(66, 2000), in_bag=False
        ),
    ),
    (0.22, 0.09, 0.4, 8.0, 3.0),
)

BOWLERS = (TAMSIN, IDRIS, JUNO, CORIN, WREN, MATTIS)


@dataclass(frozen=True)
class DemoPattern:
    """Oil in units by band of boards (counted from each side) at each distance."""

    name: str
    length_ft: float
    distances_ft: tuple[float, ...]
    # Rows as the grid shows them: outside boards 1-4, 5-9, 10-14, 15-20 of a symmetric sheet.
    bands: tuple[tuple[float, float, float, float], ...]
    viscosity_cp: float
    note: str

    def oil(self) -> list[list[float]]:
        """Rows of 39 boards, from the right."""
        rows = []
        for outer, second, third, inner in self.bands:
            half = [outer] * 4 + [second] * 5 + [third] * 5 + [inner] * 5
            rows.append([*half, inner, *reversed(half)])
        return rows


LONG_BARROW = DemoPattern(
    "Long Barrow",
    45.0,
    (2.0, 10.0, 20.0, 30.0, 38.0, 44.0),
    (
        (11.0, 14.5, 18.0, 20.0),
        (10.0, 13.5, 17.0, 19.0),
        (8.0, 11.0, 14.0, 16.0),
        (6.0, 8.5, 10.5, 12.0),
        (4.5, 6.0, 7.5, 8.5),
        (3.0, 3.8, 4.6, 5.2),
    ),
    38.0,
    "Flat and long: the championship sheet, typed in from the notice board.",
)

MILLRACE = DemoPattern(
    "Millrace",
    39.0,
    (2.0, 9.0, 18.0, 27.0, 34.0, 38.0),
    (
        (6.0, 12.0, 22.0, 28.0),
        (5.5, 11.0, 20.0, 26.0),
        (4.5, 8.5, 16.0, 21.0),
        (3.5, 6.5, 12.0, 15.5),
        (3.0, 4.5, 8.0, 10.0),
        (2.0, 3.0, 4.5, 5.5),
    ),
    42.0,
    "Medium length with more help to the outside; used for the club's winter league.",
)

SHORT_CROSSING = DemoPattern(
    "Short Crossing",
    34.0,
    (2.0, 8.0, 16.0, 24.0, 30.0, 33.5),
    (
        (9.0, 14.0, 20.0, 22.0),
        (8.5, 13.0, 18.5, 20.5),
        (7.0, 10.5, 15.0, 17.0),
        (5.0, 7.0, 9.5, 11.0),
        (3.5, 4.5, 5.5, 6.5),
        (2.5, 3.0, 3.4, 3.8),
    ),
    30.0,
    "Short: played near the edge while it lasts.",
)

PATTERNS = (LONG_BARROW, MILLRACE, SHORT_CROSSING)


@dataclass(frozen=True)
class DemoBlock:
    name: str
    squad: str
    pattern: str
    games_planned: int
    games_bowled: int
    # Hours from the moment of loading to the first ball; negative is past.
    starts: timedelta
    # First odd lane by bowler; after every game each goes `pairs_to_move` pairs to the right.
    first_lanes: dict[str, int]
    pairs_to_move: int


MINUTES_PER_GAME = 24

BLOCKS = (
    DemoBlock(
        "Qualifying, first block",
        "A",
        "Long Barrow",
        6,
        6,
        timedelta(hours=-26),
        {"tamsin": 1, "idris": 1, "juno": 3, "corin": 3, "wren": 5, "mattis": 5},
        1,
    ),
    DemoBlock(
        "Qualifying, second block",
        "A",
        "Long Barrow",
        6,
        3,
        timedelta(hours=-1.3),
        {"tamsin": 9, "idris": 9, "juno": 11, "corin": 11, "wren": 13, "mattis": 13},
        1,
    ),
)
