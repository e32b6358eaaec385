"""The accounts of heat and water: what is stored, and what a run leaves open."""

from tests.plant import loop, psychro


def energy(p, g, body):
    """Heat and vapour enthalpy stored in the house and the soil, against 0 degC and liquid water. [J]"""
    y = body.y
    quick = p.air_mass * psychro.moist_enthalpy(y[0], y[1])
    quick += p.cover_capacity * y[2] + p.leaf_capacity * y[3] + p.mass_capacity * y[4] + p.floor_capacity * y[5]
    slices = (body.slices * (g.capacity * g.live)[None]).sum() * p.metres
    rings = (body.rings * g.ring_capacity[None]).sum() * p.metres
    column = (body.column * body.column_capacity).sum() * p.bare_area
    return float(quick + slices + rings + column - _on_the_way(p, body))


def _on_the_way(p, body):
    """Heat that left the floor (negative) or the rings but has not reached the grid yet. [J]"""
    return -(body.small[loop.SOIL_HEAT] + body.hole_flow.sum() * p.metres)


def water(p, body):
    """Vapour and water films in the house. [kg]"""
    return float(p.air_mass * body.y[1] + body.film.sum())


def energy_error(r):
    """What the account of heat leaves open, over all heat that came in. [-]

    Came in: sun, fan, heater, and all that the soil and pipes gave back are internal. A run whose steps were
    exact would give 0.
    """
    t = r.totals
    net = (
        t["sun"]
        - t["sky_and_wind"]
        + t["leak"]
        + t["vent"]
        + t["fan"]
        + t["heater"]
        - t["back"]
        + t["liquid"]
        - t["edge"]
        - t["deep"]
    )
    return (r.stored[1] - r.stored[0] - net) / (t["sun"] + t["fan"] + t["heater"])


def water_error(r):
    """What the account of water leaves open, over all water that came into the air. [-]"""
    t = r.totals
    net = t["transpired"] + t["floor_water"] + t["soil_to_pipe"] + t["leak_water"] - t["runoff"] - t["drained"]
    return (r.water[1] - r.water[0] - net) / max(t["transpired"] + abs(t["floor_water"]) + t["soil_to_pipe"], 1e-9)
