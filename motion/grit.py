"""Abrasive grades and the roughness a pad leaves: the bridge between grit words and micrometres.

Particle sizes: FEPA P grades (ISO 6344), average particle diameter, from the table at
stusshed.wordpress.com/2008/03/24 (found second-hand, P120 to P2500); 3000 to 5000 from memory, outside that
table. No published table of roughness by grit could be read, so the roughness of a finish is an estimate:
Ra grows as particle size to a power (between 0.5 and 1 in modelling practice), scaled to one anchor.
"""

from __future__ import annotations

import math

import numpy as np

from motion.errors import MotionError

FEPA_UM: dict[int, float] = {
    120: 125.0,
    150: 100.0,
    180: 82.0,
    220: 68.0,
    240: 58.5,
    280: 52.2,
    320: 46.2,
    360: 40.5,
    400: 35.0,
    500: 30.2,
    600: 25.8,
    800: 21.8,
    1000: 18.3,
    1200: 15.3,
    1500: 12.6,
    2000: 10.3,
    2500: 8.4,
    # From memory, outside the published table.
    3000: 7.0,
    4000: 5.5,
    5000: 4.5,
}
GRIT_MIN, GRIT_MAX = 120, 5000

# Assumed anchor: a full machine finish with a 500 pad is as rough as the mean allowed when a model is
# approved, 50 microinches (1.27 um, limit found second-hand). Nobody published that pair; scanner readings
# replace it.
ANCHOR_GRIT = 500
ANCHOR_RA_UM = 50.0 * 0.0254
# Assumed, the middle of modelling practice (0.5 to 1).
PARTICLE_POWER = 0.75

# RMS over average roughness of a surface with normally distributed heights, sqrt(pi/2); derived.
RMS_PER_RA = math.sqrt(math.pi / 2.0)

_LOG_GRIT = np.log(np.array(list(FEPA_UM), dtype=np.float64))
_LOG_PARTICLE = np.log(np.array(list(FEPA_UM.values()), dtype=np.float64))


def check_grit(grit: float, field: str = "grit") -> float:
    """The grit itself; raises MotionError outside 120 to 5000, the grades sold as pads for balls."""
    if isinstance(grit, bool) or not isinstance(grit, int | float) or not GRIT_MIN <= grit <= GRIT_MAX:
        raise MotionError(field, grit, f"a grit from {GRIT_MIN} to {GRIT_MAX}")
    return float(grit)


def particle_um(grit: float) -> float:
    """Average particle diameter [um] of a FEPA grade 120 to 5000, log-log between the table's grades."""
    return math.exp(float(np.interp(math.log(check_grit(grit)), _LOG_GRIT, _LOG_PARTICLE)))


def grit_to_ra_um(grit: float) -> float:
    """Ra [um] of a full machine finish with that pad: an estimate, see the module's head."""
    return ANCHOR_RA_UM * math.pow(particle_um(grit) / particle_um(ANCHOR_GRIT), PARTICLE_POWER)


def ra_um_to_grit(ra_um: float) -> float:
    """The grit whose finish has that Ra [um], held within 120 to 5000; raises MotionError for Ra <= 0."""
    if not ra_um > 0.0 or not math.isfinite(ra_um):
        raise MotionError("ra_um", ra_um, "a roughness above 0 µm")
    particle = particle_um(ANCHOR_GRIT) * math.pow(ra_um / ANCHOR_RA_UM, 1.0 / PARTICLE_POWER)
    # The table runs from coarse to fine; interpolation wants ascending particle sizes.
    return math.exp(float(np.interp(math.log(particle), _LOG_PARTICLE[::-1], _LOG_GRIT[::-1])))


def rms_um(ra_um: float) -> float:
    """RMS roughness [um] of a surface with that Ra, for normally distributed heights."""
    return RMS_PER_RA * ra_um
