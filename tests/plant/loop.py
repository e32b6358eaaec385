"""The jitted loop: read the probes, let controller.core decide, move the house and the soil on."""

from collections import namedtuple
from math import exp

from controller.core import decide, screen
from controller.core.phases import HAND
from controller.core.reasons import HAND_OFF, HAND_ON
from tests.plant import air, balance, control, envelope, pipes, psychro, sensors, soil
from tests.plant.jit import jit, jit_kept

# Everything that changes, as arrays, so that the loop works in place and a copy is a snapshot.
# small: wax of the vent, outer face of the cover, outlet probe's place, seconds since the soil moved,
#        day of year, heat into the soil since then, day of outside_ground, floor's surface
Body = namedtuple(
    "Body", "y film wall_t wall_w rings slices column column_capacity hole_flow outside_ground small seen"
)
WAX, OUTER, OUTLET, SOIL_CLOCK, DAY, SOIL_HEAT, GROUND_DAY, TOP = range(8)

# columns of the truth, one row a record
TRUTH = (
    "house", "ratio", "humidity", "soil", "outlet", "outside", "outside_ratio", "wind", "sky", "solar", "light",
    "cover", "leaf", "mass", "floor", "wall_first", "wall_last", "soil_near", "soil_mean", "film_cover", "film_pipes",
    "vent_open",
)  # fmt: skip


@jit
def top_of_ground(p, g, body):
    """Mean soil under the floor layer [degC], weighted by conductance, and the whole conductance [W/K]."""
    weighted, whole = 0.0, 0.0
    for s in range(body.slices.shape[0]):
        for j in range(g.up_g.shape[1]):
            conductance = g.up_g[0, j] * p.metres
            weighted += conductance * body.slices[s, 0, j]
            whole += conductance
    conductance = g.bare_g[0] * p.bare_area
    return (weighted + conductance * body.column[0]) / (whole + conductance), whole + conductance


@jit
def move_soil(p, g, body, totals, h_s, work):
    """Step slices and column by h_s [s], with the heat the floor gave since the last time."""
    ground_t, ground_g = top_of_ground(p, g, body)
    floor_t = ground_t + body.small[SOIL_HEAT] / (ground_g * h_s)
    body.small[SOIL_HEAT] = 0.0
    day = body.small[DAY]
    if abs(day - body.small[GROUND_DAY]) > 1.0 / 24.0:
        soil.undisturbed_now(
            g.depth, day, p.ground_mean, p.ground_amplitude, p.ground_coldest, p.ground_diffusivity, body.outside_ground
        )
        body.small[GROUND_DAY] = day
    last = g.depth.size - 1
    bottom_t = body.outside_ground[last]
    for s in range(body.slices.shape[0]):
        _, edge, deep = soil.warm_slice(
            body.slices[s], body.hole_flow[s], floor_t, body.outside_ground, bottom_t, g, h_s, work
        )
        totals[balance.EDGE] += edge * p.metres
        totals[balance.DEEP] += deep * p.metres
    if p.bare_area > 0.0:
        _, edge, deep = soil.warm_column(
            body.column, floor_t, body.outside_ground, bottom_t, g, body.column_capacity, h_s
        )
        totals[balance.EDGE] += edge * p.bare_area
        totals[balance.DEEP] += deep * p.bare_area


@jit
def advance(
    p,
    g,
    body,
    now,
    light,
    share,
    heat_on,
    motor_vent,
    length_s,
    h_most,
    soil_s,
    work,
    soil_work,
    heat,
    condensed,
    totals,
):
    """Move the whole plant on by length_s [s] with fan share 0 to 1, under weather held constant."""
    steps = max(1, int(length_s / h_most + 0.999999))
    h = length_s / steps
    keep, keep_wet, wall_h = 0.0, 0.0, 5.0
    if share > 0.0:
        keep, keep_wet, wall_h = pipes.keeps(share, p)
    ground_t, ground_g = top_of_ground(p, g, body)
    for j in range(p.segments):
        heat[j] = 0.0
        condensed[j] = 0.0
    for _ in range(steps):
        if p.motor_vent:
            vent = 1.0 * motor_vent
        else:
            body.small[WAX] += (body.y[balance.AIR] - body.small[WAX]) * (1.0 - exp(-h / p.vent_lag))
            vent = envelope.vent_wanted(body.small[WAX], p)
        scene = balance.Scene(
            now, light, vent, share, heat_on, ground_t, ground_g, body.wall_t, body.wall_w, keep, keep_wet,
            heat, condensed, h,
        )  # fmt: skip
        before = totals[balance.TO_SOIL]
        outer, top, stream_t, _ = air.move(
            body.y, body.film, body.small[OUTER], body.small[TOP], scene, p, work, totals
        )  # fmt: skip
        body.small[OUTER], body.small[TOP] = outer, top
        body.small[SOIL_HEAT] += totals[balance.TO_SOIL] - before
        target = stream_t if share > 0.0 else 0.5 * (body.y[balance.AIR] + body.wall_t[p.segments - 1])
        body.small[OUTLET] += (target - body.small[OUTLET]) * (1.0 - exp(-h / (5.0 if share > 0.0 else 900.0)))
        for j in range(p.segments):
            work[0, j] = heat[j] / p.metres
        soil.warm_rings(body.rings, work[0], body.hole_flow, body.slices, g, h)
        pipes.settle_wall(body.wall_t, body.rings, heat, p.wall_r, wall_h, p.pressure, p)
        for j in range(p.segments):
            body.wall_w[j] = psychro.saturation_ratio(body.wall_t[j], p.pressure)
        body.small[SOIL_CLOCK] += h
        body.small[DAY] += h / 86400.0
        if body.small[SOIL_CLOCK] >= soil_s - 1e-6:
            move_soil(p, g, body, totals, body.small[SOIL_CLOCK], soil_work)
            body.small[SOIL_CLOCK] = 0.0
            ground_t, ground_g = top_of_ground(p, g, body)


@jit
def soil_probe(g, body):
    """The buried probe: midway between two pipes, at their depth, mean over their length. [degC]"""
    total = 0.0
    last = g.up_g.shape[1] - 1
    for s in range(body.slices.shape[0]):
        total += 0.5 * (body.slices[s, g.axis_row - 1, last] + body.slices[s, g.axis_row, last])
    return total / body.slices.shape[0]


@jit
def soil_mean(p, g, body):
    """Mean temperature of the soil of the bed from the floor to half a metre below the pipes. [degC]"""
    total, volume = 0.0, 0.0
    for s in range(body.slices.shape[0]):
        for i in range(g.depth.size):
            if g.depth[i] < g.depth[g.axis_row] + 0.5:
                for j in range(g.up_g.shape[1]):
                    total += g.live[i, j] * g.capacity[i, j] * body.slices[s, i, j]
                    volume += g.live[i, j] * g.capacity[i, j]
    return total / volume


@jit
def keep_section(slices, sections, place):
    """Copy the first segment's slice into sections[place]."""
    for i in range(slices.shape[1]):
        for j in range(slices.shape[2]):
            sections[place, i, j] = slices[0, i, j]


@jit
def write_truth(p, g, body, now, solar, light, out):
    """One row of TRUTH into out."""
    y = body.y
    humidity = 100.0 * psychro.relative_humidity(y[0], y[1], p.pressure)
    near = 0.0
    for s in range(p.segments):
        near += body.rings[s, 0] / p.segments
    out[0], out[1], out[2], out[3], out[4] = y[0], y[1], humidity, soil_probe(g, body), body.small[OUTLET]
    out[5], out[6], out[7], out[8] = now[0], now[1], now[2], now[3]
    out[9], out[10], out[11], out[12], out[13], out[14] = solar, light[4], y[2], y[3], y[4], body.small[TOP]
    out[15], out[16], out[17] = body.wall_t[0], body.wall_t[p.segments - 1], near
    out[18], out[19], out[20] = soil_mean(p, g, body), body.film[0], body.film[2:].sum()
    out[21] = envelope.vent_wanted(body.small[WAX], p)


@jit
def look(p, g, body, now, light, sun_k, follow, step_s):
    """Move the probes' own temperatures towards what they sit in. follow: share of the gap closed a step."""
    y = body.y
    percent = 100.0 * psychro.humidity_over_water(y[0], y[1], p.pressure)
    around = (
        y[0] + sun_k * light[4],
        soil_probe(g, body),
        body.small[OUTLET],
        now[0],
        y[0] + 0.3 * sun_k * light[4],
        percent,
    )
    for i in range(6):
        body.seen[i] += (around[i] - body.seen[i]) * follow[i]


@jit_kept
def run(
    p,
    g,
    body,
    weather,
    light,
    first_s,
    steps,
    step_s,
    every,
    s,
    state,
    view,
    driver,
    override,
    noise,
    missing,
    sun_k,
    follow,
    rounded,
    h_most,
    soil_s,
    work,
    soil_work,
    heat,
    condensed,
    totals,
    raws,
    decided,
    truth,
    running,
    sums,
    sections,
    section_every,
):
    """Run the closed loop. Step k reads and decides at first_s + k step_s (seconds from the weather's first minute).

    weather : shape (minutes, 5): air, ratio, wind, sky, solar. light : shape (minutes, 5).
    override : fan percent per step, shape (steps,), or shape (0,).
    Filled: raws (steps, 6), decided (steps, 6: phase, fan percent, heater, vent, reason, alarms), truth and
    running (seconds the fan ran since the row before), sums (totals) each `every` steps, sections each section_every.
    Returns (state, view) to go on from.
    """
    fan_s = 0
    thermostat = 0
    for k in range(steps):
        moment = first_s + k * step_s
        minute = int(moment / 60.0 + 1e-9)
        look(p, g, body, weather[minute], light[minute], sun_k, follow, step_s)
        sensors.read(body.seen, noise[k], missing[k], rounded, raws[k])
        raw = screen.Raw(step_s, raws[k, 0], raws[k, 1], raws[k, 2], raws[k, 3], raws[k, 4], raws[k, 5], 0, 0, 0)
        view = screen.step(view, raw)
        reading = screen.reading(s, view, raw)
        state = decide.step(s, state, reading)
        d = state.deciding
        percent, phase, reason = decide.fan_pct(s, state), d.phase, state.counters.reason
        if override.size > 0:
            percent = override[k]
            phase, reason = HAND, HAND_ON if percent > 0 else HAND_OFF
        elif driver == control.BY_TWO_SETPOINTS:
            thermostat = control.two_setpoints(s, thermostat, raws[k, 0])
            percent = 100 * thermostat
            phase, reason = HAND, HAND_ON if percent > 0 else HAND_OFF
        decided[k, 0], decided[k, 1], decided[k, 2], decided[k, 3] = phase, percent, d.heater, d.vent
        decided[k, 4], decided[k, 5] = reason, state.counters.alarms
        if k % every == 0:
            row = k // every
            write_truth(p, g, body, weather[minute], weather[minute, 4], light[minute], truth[row])
            running[row] = fan_s
            fan_s = 0
            for i in range(totals.size):
                sums[row, i] = totals[i]
        if k % section_every == 0:
            keep_section(body.slices, sections, k // section_every)
        share = percent / 100.0
        done = 0.0
        while done < step_s - 1e-6:  # the weather changes at whole minutes
            at = int((moment + done) / 60.0 + 1e-9)
            length = min(step_s - done, 60.0 * (at + 1) - (moment + done))
            advance(
                p,
                g,
                body,
                weather[at],
                light[at],
                share,
                1.0 * d.heater,
                d.vent,
                length,
                h_most,
                soil_s,
                work,
                soil_work,
                heat,
                condensed,
                totals,
            )
            done += length
        fan_s += step_s if percent > 0 else 0
    return state, view
