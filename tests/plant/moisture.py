"""Water: out of leaves and wet floor, on to cover and leaves and off again."""

from math import exp

from tests.plant.jit import jit
from tests.plant.psychro import RATIO


@jit
def stomata(least, light, deficit_pa, leaf_t):
    """Stomatal resistance of the canopy's leaves. [s/m]

    least [s/m] in good light; light [W/m2] on the horizontal inside; deficit_pa: leaf to air [Pa]; leaf_t [degC].
    Source: Stanghellini 1987, thesis, Wageningen, in the form and numbers used by Vanthoor 2011 (without CO2):
    light (I + 4.30) / (I + 0.54); temperature 1 + 2.3e-2 (T - 24.5)^2 by day; deficit 1 + 4.3 (kPa)^2 up to 3.8.
    The first is 8 in the dark. The temperature term is held to 6, so that cold leaves still lose a little
    (assumption, 4-10).
    """
    by_light = (light + 4.30) / (light + 0.54)
    day = 1.0 / (1.0 + exp(-(light - 5.0)))
    warm = min(6.0, 1.0 + (0.5e-2 + 1.8e-2 * day) * (leaf_t - 24.5) * (leaf_t - 24.5))
    kpa = max(deficit_pa, 0.0) / 1000.0
    dry = min(3.8, 1.0 + 4.3 * kpa * kpa)
    return least * by_light * warm * dry


@jit
def leaf_exchange(p, w, w_leaf, film, light, leaf_t, boundary):
    """Water leaving the leaves. -> (transpired, from the film) [kg/s], the second negative where dew falls.

    boundary [s/m]: one side's resistance, both sides at work: 2 LAI rho / (r_b + r_s) (Stanghellini 1987).
    The dry share of the leaf transpires, the wet share evaporates.
    """
    gap = w_leaf - w
    wet = min(1.0, film / p.leaf_film_full)
    free = p.density * p.leaf_area / boundary * 2.0
    if gap <= 0.0:
        return 0.0, free * gap
    deficit_pa = gap * p.pressure / RATIO
    resistance = boundary + stomata(p.leaf_stomata, light, deficit_pa, leaf_t)
    return (1.0 - wet) * 2.0 * p.density * p.leaf_area / resistance * gap, wet * free * gap


@jit
def surface_exchange(coefficient, w, w_surface, film, full):
    """Water leaving a surface that holds a film. [kg/s], negative where it condenses.

    coefficient [kg/s per kg/kg]. It condenses on the whole surface and evaporates from the wet share of it.
    """
    gap = w_surface - w
    if gap <= 0.0:
        return coefficient * gap
    return coefficient * gap * min(1.0, film / full)
