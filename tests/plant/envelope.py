"""Heat between air, cover, leaves, floor, mass and outside: one small jitted function per mechanism."""

from math import sqrt

from tests.plant.jit import jit
from tests.plant.psychro import CP_AIR

SIGMA = 5.670374e-8
GRAVITY = 9.81


@jit
def radiated(t_a, t_b):
    """Black-body exchange from a to b. [W/m2] Source: Stefan-Boltzmann."""
    a, b = t_a + 273.15, t_b + 273.15
    return SIGMA * (a * a + b * b) * (a + b) * (a - b)


@jit
def radiation_h(t_a, t_b):
    """The coefficient that makes radiated() linear. [W/m2 K]"""
    a, b = t_a + 273.15, t_b + 273.15
    return SIGMA * (a * a + b * b) * (a + b)


@jit
def cube_root_of_gap(gap):
    """|gap| ** (1/3), smooth through zero (0.3 K) so that the steps do not chatter. gap [K]"""
    return (gap * gap + 0.09) ** (1.0 / 6.0)


@jit
def inside_cover_h(gap, stirred):
    """Coefficient between inside air and cover. [W/m2 K] gap: air minus cover [K].

    1.7 |gap|^(1/3) + 2 stirred. Source: Bot 1983 and de Zwart 1996 theses, Wageningen (natural convection; the cos
    of the slope to -1/3 left out, 5 %); stirred 0 or 1 adds what a running fan stirs (assumption, 0-3 W/m2 K).
    """
    return 1.7 * cube_root_of_gap(gap) + 2.0 * stirred


@jit
def floor_h(gap, stirred):
    """Coefficient between floor and air. [W/m2 K] gap: floor minus air [K].

    1.7 |gap|^(1/3) over a warm floor, 1.3 |gap|^(1/4) over a cold one; source: de Zwart 1996; stirring as above.
    """
    warm = 1.7 * cube_root_of_gap(gap)
    cold = 1.3 * (gap * gap + 0.09) ** 0.125
    # joined smoothly within 0.3 K of equal
    share = 0.5 + 0.5 * gap / sqrt(gap * gap + 0.09)
    return share * warm + (1.0 - share) * cold + 2.0 * stirred


@jit
def outside_h(wind):
    """Coefficient between cover and outside air. [W/m2 K] wind [m/s] at the house.

    2.8 + 1.2 v below 4 m/s, 2.5 v^0.8 above. Source: Bot 1983, as used by Vanthoor 2011 (both theses, Wageningen).
    """
    return 2.8 + 1.2 * wind if wind < 4.0 else 2.5 * wind**0.8


@jit
def leak_flow(inside, outside, wind, p):
    """Air leaking through cracks by stack and wind in quadrature. [m3/s] wind [m/s] at the house.

    Source: the basic model of ASHRAE Fundamentals 2009 ch. 16 (Sherman & Grimsrud 1980).
    """
    return sqrt(p.leak_stack * abs(inside - outside) + p.leak_wind * wind * wind)


@jit
def vent_flow(opening, inside, outside, wind, p):
    """Air through the vents. [m3/s] opening 0 to 1.

    A/2 Cd sqrt(2 g dT/T H/4 + Cw v^2), Cd 0.65, Cw 0.09. Source: Boulard & Baille 1995, J. Agric. Eng. Res. 61, 145.
    """
    drive = 2.0 * GRAVITY * abs(inside - outside) / (outside + 273.15) * p.vent_height / 4.0 + 0.09 * wind * wind
    return 0.5 * p.vent_m2 * opening * 0.65 * sqrt(drive)


@jit
def vent_wanted(cylinder, p):
    """Opening of a self-opening vent from the temperature of its wax. 0 to 1"""
    return max(0.0, min(1.0, (cylinder - p.vent_from) / (p.vent_full - p.vent_from)))


@jit
def outer_surface(cover_t, before, air, sky, wind, p):
    """Temperature of the cover's outer face, which stores nothing, and the heat through it. -> (degC, W out)

    before: its last temperature, where radiation is made linear (twice over).
    """
    h = outside_h(wind)
    e = p.cover_emissivity
    t = before
    for _ in range(2):
        to_sky = e * p.sky_view * radiation_h(t, sky)
        to_ground = e * (1.0 - p.sky_view) * radiation_h(t, air)
        t = (p.cover_u * cover_t + h * air + to_sky * sky + to_ground * air) / (p.cover_u + h + to_sky + to_ground)
    return t, p.cover_area * p.cover_u * (cover_t - t)


@jit
def cover_h_mass(h):
    """Mass transfer coefficient that goes with a heat transfer coefficient. [kg/m2 s per kg/kg]

    Source: Chilton & Colburn 1934, Ind. Eng. Chem. 26, 1183, Lewis number 0.87.
    """
    return h / (CP_AIR * 0.91)
