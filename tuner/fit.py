"""From a log to a fitted house: parameters, plausible houses, hold-out, and what could not be learned.

Lives here: the order of the job and what may be claimed. The parts: rows (grid), prior, estimate (search), track
(the course that the house took). Words for people: tuner/learned.py.
"""

from dataclasses import dataclass, field

import numpy as np

from tuner import closed_loop, degrees, estimate, house, kalman, modes, prior, rows, track
from tuner.errors import FitError

COARSE_S = 1200.0  # row distance of the search [s]; see tuner/README-model.md for why it is not the log's own
FINE_S = 300.0  # step of the last climb [s]: the fan's runs nearly as they were, readings still COARSE_S apart
TWO_NIGHTS_S = 40 * 3600
LEARN_SHARE = 2.0 / 3.0  # of the log; the rest is held out
DRAWS = 16
QUICK_S = 12 * 3600.0  # of log used to learn how fast the air answers
DARK = 0.02  # `shine` below this is night
NO_STORE_SKY = 12.0  # prior width of the steady gain or loss [K of loss] where the ground is not seen at all
# walk_soil is held: left free it grows until the soil may wander as it likes, and its slow answer is not learned.
ALWAYS_HELD = ("flow_exponent", "walk_soil", "damp_level")


@dataclass(frozen=True)
class Fit:
    """One house learned from one log.

    grid: rows.Grid. problem: estimate.Problem of the search. free: best parameters, fitted scale, shape (P,).
    covariance: (P, P) on that scale, zero for what was held. plausible: (draws, P), drawn from it, free first.
    fan_known, store_known: may anything be said of the fan's and of the store's effect. held_out: dict of the
    hold-out errors or None. notes: sentences on limits. timed: fan levels are shares of time.
    """

    grid: rows.Grid
    problem: estimate.Problem
    free: np.ndarray
    covariance: np.ndarray
    plausible: np.ndarray
    fan_known: bool
    store_known: bool
    held_out: dict | None
    notes: list
    value: float
    cache: dict = field(default_factory=dict, repr=False)

    @property
    def values(self):
        """Parameters in their own units, shape (P,)."""
        return house.natural(self.free)

    @property
    def log_hours(self):
        """Hours of log that the fit rests on."""
        return float(sum(len(stretch.level) for stretch in self.grid.stretches) * self.grid.dt / 3600.0)

    @property
    def scale_known(self):
        """Do sizes in site.toml, or a heater logged in watts, set the scale of all figures in W and kWh?"""
        power = max(float(stretch.heater.max()) for stretch in self.grid.stretches)
        return prior.said(self.grid.site) or power > 1.0

    def courses(self, draw=0):
        """Return the track.Track of every stretch under plausible house `draw` (0: the best), made once."""
        if draw not in self.cache:
            free = self.plausible[draw]
            models = {}
            made = []
            for k, stretch in enumerate(self.grid.stretches):
                if stretch.dt not in models:
                    every = np.arange(kalman.DIRECTIONS)
                    model = kalman.build(
                        house.natural(free), self.problem.shares, self.problem.links, stretch.dt, every
                    )
                    models[stretch.dt] = model, modes.modes(model)
                state, spread = _start(self.grid.stretches[k], self.problem.fixed)
                model, mode = models[stretch.dt]
                made.append(track.follow(model, stretch, state, spread, estimate.CUT, mode))
            self.cache[draw] = made
        return [one[0] for one in self.cache[draw]]

    def seen(self, settings, k):
        """Return the closed_loop.Seen readings of stretch k, made once for each lost_after_s."""
        key = ("seen", settings.lost_after_s, k)
        if key not in self.cache:
            readings = closed_loop.readings_of(self.grid, k)
            self.cache[key] = closed_loop.seen_by(settings, readings, round(self.grid.dt))
        return self.cache[key]

    def errors(self):
        """Return (errors, variances) of the one-step predictions of all stretches, shape (grid, 3) each."""
        self.courses(0)
        return tuple(np.concatenate([one[i] for one in self.cache[0]]) for i in (1, 2))


def fit(log, site, draws=DRAWS, seed=1, hold_out=True, progress=None):
    """Return the Fit of a log.

    log : tuner.logs.Log; site : Site; draws : plausible houses, the best one included; seed : of the draws.
    progress : callable taking a short text, or None.
    Raises FitError where nothing can be learned, saying why and what would help.
    """
    tell = progress or (lambda text: None)
    grid = rows.lay(log, site)
    refuse(grid)
    fan_known, store_known, notes = claims(grid)
    timed = not site.fan.speed_control
    kept, finer, left_out = searched(grid)
    notes = [*grid.notes, *left_out, *notes]

    def problem(stretches):
        return problem_of(grid, stretches, timed, fan_known, store_known)

    def learned(coarse, fine, tried):
        """The problem and the best point: at the coarse step, then from there at the finer one."""
        last = problem(coarse)
        best = best_of(last, tried or starts(last))
        if finer is not None:
            last = problem(fine)
            best = estimate.climb(last, best.free, most=30, enough=0.1)
        return last, best

    held, tried = None, []
    if hold_out:
        tell("learning from the first part")
        part, _ = split(kept)
        fine, unseen = split(kept if finer is None else finer)
        if unseen is not None:
            first, got = learned(part, fine, [])
            held = free_run(first, got.free, unseen)
            tried = [got.free]
    tell("learning from the whole log")
    whole, best = learned(kept, finer, tried)
    covariance, inflation = spread_of(whole, best)
    if fan_known:
        tell("learning how fast the air answers")
        quick(grid, whole, best.free, covariance)
    plausible = draw(best.free, covariance, draws, seed)
    notes += _not_learned(whole, best, grid)
    return Fit(
        grid, whole, best.free, covariance, plausible, fan_known, store_known, held, notes, best.value,
        {"inflation": inflation},
    )


def refuse(grid):
    """Raise FitError where the log cannot teach anything about the house."""
    stretches, units = grid.stretches, grid.site.site.units
    seen = np.concatenate([s.seen[:, 0] for s in stretches])
    good = seen[~np.isnan(seen)]
    known_s = len(good) * grid.dt * grid.parts
    if known_s < TWO_NIGHTS_S:
        rest_s = len(seen) * grid.dt - known_s
        why = (
            f" The other {rest_s / 3600:.0f} h have none that can be trusted: loamstat inspect tells what is wrong."
            if rest_s > known_s
            else ""
        )
        raise FitError(
            f"The log has {known_s / 3600:.0f} h with a house temperature: too short to learn a house from, which "
            f"takes two nights at least and is good after one or two weeks.{why} What the log shows without a model: "
            "loamstat replay --open-loop."
        )
    if good.max() - good.min() < 0.5:
        raise FitError(
            f"The house temperature stays at {degrees.marked(good.mean(), units)} all the time (it moves by "
            f"{degrees.apart(good.max() - good.min(), units, 2)}): nothing can be learned from it. "
            "Is the probe connected?"
        )
    if "outside" in grid.has:
        outside = np.concatenate([s.outside for s in stretches])[~np.isnan(seen)]
        away = float((good - outside).mean())
        if away < -0.5:
            raise FitError(
                f"The house is on average {degrees.apart(-away, units)} colder than outside, which no house with a "
                "glazed cover is. Are the house and outside columns swapped? Name them under [columns] in site.toml."
            )


def claims(grid):
    """Return (fan_known, store_known, notes): what the log allows to be said."""
    notes = []
    store = "soil" in grid.has
    if not store:
        notes.append(
            "No soil temperature: only the house is fitted. Nothing is claimed about the store, nor about what the "
            "fan does. A probe midway between two pipes at their depth would tell."
        )
        return False, False, notes
    on = np.concatenate([np.append(s.level != kalman.OFF, False) for s in grid.stretches])
    starts_seen = int((np.diff(on.astype(int)) > 0).sum())
    share = on.mean()
    if share == 0.0:
        notes.append("The fan never ran in this log, so the log cannot say what it does.")
        return False, store, notes
    if share > 0.98 or starts_seen < 2:
        notes.append(
            "The fan hardly ever changed in this log, so its effect cannot be told from the house's own losses."
        )
        return False, store, notes
    return True, store, notes


def searched(grid):
    """Return (coarser stretches that are long enough for the search, the same in finer steps, what was left out).

    The finer ones have the same readings; None where the log's own rows are that far apart.
    """
    step = max(grid.parts, round(FINE_S / grid.dt))
    every = max(1, round(COARSE_S / (step * grid.dt)))
    kept, finer, short, rows_short = [], [], 0, 0
    for stretch in grid.stretches:
        if len(stretch.level) * stretch.dt < rows.SHORTEST_S:
            short += 1
            rows_short += len(stretch.level)
        else:
            kept.append(rows.coarser(stretch, step * every))
            finer.append(rows.coarser(stretch, step, every))
    if not kept:
        raise FitError(
            f"The log is in pieces, none longer than {rows.SHORTEST_S // 3600} h: too short to learn from. "
            "Look for the cause of the gaps with loamstat inspect."
        )
    notes = []
    if short:
        notes.append(
            f"{short} parts of the log shorter than {rows.SHORTEST_S // 3600} h between gaps were left out of the "
            f"fit: {rows_short * grid.dt / 3600:.1f} h in all."
        )
    return kept, finer if every > 1 else None, notes


def problem_of(grid, stretches, timed, fan_known, store_known):
    """Return the estimate.Problem of some stretches."""
    size = prior.sizes(grid.site)
    seen = np.concatenate([s.seen for s in stretches])
    soil = float(np.nanmean(seen[:, 1])) if store_known else float(np.nanmean(seen[:, 0]))
    values = prior.centre(grid.site, size, soil, float(np.nanmean(seen[:, 0])), timed)
    heater = np.concatenate([s.heater for s in stretches])
    held: set[str] = set(ALWAYS_HELD)
    if heater.max() > 1.0 or heater.max() == 0.0:
        held.add("heater_power")
        values[house.INDEX["heater_power"]] = max(heater.max(), 1.0)
    if heater.max() == 0.0:
        values[house.INDEX["heater_power"]] = size["floor"] * 50.0
    if not store_known or "outlet" not in grid.has:
        held |= {"outlet_offset", "noise_outlet"}
    if not fan_known:
        held |= {"effectiveness", "charge_ratio", "condensing", "evaporating", "air_stream", "stirred"}
    if not store_known:
        held |= {"soil_capacity", "soil_conductance", "probe_place", "walk_wall", "walk_soil", "noise_soil"}
        # Without a reading below it the floor is taken as closed at its bottom: one slow heat more is not to be seen.
        held |= {"cover_over_store", "ground_exchange", "below_capacity", "ground"}
        values[house.INDEX["cover_over_store"]] *= 1e-6
    if "humidity" not in grid.has:
        held |= {"condensing", "evaporating"}
    fixed = house.fitted_scale(values)
    active = np.array([i for i, name in enumerate(house.NAMES) if name not in held])
    wide = prior.covariance(prior.said(grid.site))
    if not store_known:
        wide[house.INDEX["sky"], house.INDEX["sky"]] = NO_STORE_SKY**2
    precision = np.linalg.inv(wide[np.ix_(active, active)])
    shares, links = house.shell_shape(prior.shell_ratio(size))
    begun = [_start(s, fixed) for s in stretches]
    return estimate.Problem(
        stretches, [b[0] for b in begun], [b[1] for b in begun], shares, links, active, fixed[active],
        precision, fixed,
    )  # fmt: skip


def _start(stretch, fixed):
    loss = float(house.natural(fixed)[house.INDEX["loss"]])
    return prior.start(stretch.seen, loss)


def starts(problem):
    """Return the points that the search begins from: the priors' centre, and a light and a heavy house."""
    def moved(**shifts):
        free = problem.fixed.copy()
        for name, shift in shifts.items():
            if house.INDEX[name] in problem.active:
                free[house.INDEX[name]] += shift
        return free

    return [
        moved(),
        moved(mass_capacity=0.8, loss=-0.5, soil_capacity=0.7, cover_over_store=-0.7),
        moved(mass_capacity=-0.8, loss=0.4, soil_capacity=-0.5, mass_exchange=0.6, floor_exchange=0.6),
    ]


def best_of(problem, begins):
    """Return the estimate.Point of the highest log-posterior reached from several beginnings."""
    rough = [estimate.climb(problem, begin, most=12 if len(begins) > 1 else 40, enough=0.3) for begin in begins]
    best = max(rough, key=lambda point: point.value)
    if best.value == -np.inf:
        raise FitError("The fit does not converge on this log. Look for wrong readings with loamstat inspect.")
    return estimate.climb(problem, best.free, most=30, enough=0.05) if len(begins) > 1 else best


def split(stretches):
    """Return (first part, rest) of the stretches by time; rest is (Stretch to the cut, Stretch after) or None."""
    total = sum(len(s.level) for s in stretches)
    cut = round(total * LEARN_SHARE)
    part = []
    for stretch in stretches:
        rows_here = len(stretch.level)
        if cut >= rows_here:
            part.append(stretch)
            cut -= rows_here
            continue
        if cut * stretch.dt < rows.SHORTEST_S or (rows_here - cut) * stretch.dt < rows.SHORTEST_S:
            return part, None
        part.append(piece(stretch, 0, cut))
        return part, (piece(stretch, 0, cut), piece(stretch, cut, rows_here))
    return part, None


def piece(stretch, first, last):
    """Return rows first..last-1 of a stretch."""
    cut = slice(first, last)
    taken = {
        name: np.ascontiguousarray(value[cut])
        for name, value in stretch._asdict().items()
        if isinstance(value, np.ndarray)
    }
    return stretch._replace(**taken)


def free_run(problem, free, rest):
    """Return the errors of the model running free over the part it was not fitted on, fan as logged.

    dict: hours, house_rms, soil_rms, night_rms (house between 20 and 8 h after the hottest time of day is not
    known here, so: rows without sun) [K]; soil_rms None without a probe.
    """
    before, after = rest
    model = estimate.model_of(problem._replace(stretches=[before, after]), free, before)
    state, spread = _start(before, problem.fixed)
    water = np.zeros(1)
    errors = np.empty((len(before.level), kalman.PROBES))
    kalman.run_filter(
        model, before, state, spread, water, estimate.CUT, errors, np.empty_like(errors),
        estimate._NO_GAINS, estimate._NO_STATES,
    )
    unseen = after._replace(seen=np.full_like(after.seen, np.nan))
    count = len(after.level)
    errors = np.empty((count, kalman.PROBES))
    states = np.zeros((count, house.STATES))
    kalman.run_filter(
        model, unseen, state, spread, water, estimate.CUT, errors, np.empty_like(errors),
        np.zeros((count, kalman.PROBES, house.STATES)), states,
    )
    off = after.seen[:, 0] - states[:, house.AIR]
    soil = after.seen[:, 1] - states @ model.probe
    dark = after.shine < DARK
    rms = lambda x: None if np.isnan(x).all() else float(np.sqrt(np.nanmean(x**2)))  # noqa: E731
    return {
        "hours": count * after.dt / 3600.0,
        "house_rms": rms(off),
        "night_rms": rms(off[dark]) if dark.any() else None,
        "night_bias": None if not dark.any() or np.isnan(off[dark]).all() else float(-np.nanmean(off[dark])),
        "soil_rms": rms(soil),
        "measured": after.seen[:, 0],
        "predicted": states[:, house.AIR].copy(),
        "dt": after.dt,
    }


def quick(grid, problem, free, covariance):
    """Learn, in place, the air's heat capacity and the house probe's noise from the log's own rows.

    Rows of COARSE_S cannot show how fast the air answers; the log's own rows can, with all else held. The night with
    the most starts of the fan is used: by day clouds and slow vents hide the answer. A log without starts at night
    leaves both as they are. The new variance replaces the old; what it shared is dropped.
    """
    names = [house.INDEX[name] for name in ("air_capacity", "noise_house")]
    length = round(QUICK_S / grid.dt)
    most = max(grid.stretches, key=lambda stretch: len(stretch.level))
    starts_at = np.flatnonzero((np.diff((most.level != kalman.OFF).astype(int)) > 0) & (most.shine[:-1] < DARK))
    if len(starts_at) == 0 or len(most.level) < 60:
        return
    begins = np.arange(0, max(1, len(most.level) - length), max(1, length // 4))
    counts = [((starts_at >= b) & (starts_at < b + length)).sum() for b in begins]
    first = int(begins[int(np.argmax(counts))])
    stretch = piece(most, first, min(len(most.level), first + length))
    state, spread = _start(stretch, problem.fixed)
    active = np.array(names)
    wide = np.array([house.PARAMETERS[i].spread for i in names])
    small = estimate.Problem(
        [stretch], [state], [spread], problem.shares, problem.links, active, problem.fixed[active],
        np.diag(1 / wide**2), free.copy(),
    )  # fmt: skip
    got = estimate.climb(small, free.copy(), most=8, enough=0.05)
    if not np.isfinite(got.value):
        return
    free[active] = got.free[active]
    covariance[active, :] = 0.0
    covariance[:, active] = 0.0
    inverse = np.linalg.inv(got.information)
    covariance[np.ix_(active, active)] = (inverse + inverse.T) / 2


def spread_of(problem, best):
    """Return (covariance (P, P) on the fitted scale, inflation).

    The inverse information, widened by how much more the days disagree than a true model's days would: the trace
    of (information of the likelihood)^-1 times the scatter of the daily scores (Huber's sandwich, as one factor).
    """
    inverse = np.linalg.inv(best.information)
    blocks = best.block_scores
    likelihood = best.information - problem.precision
    scatter = (blocks - blocks.mean(0)).T @ (blocks - blocks.mean(0))
    over = float(np.trace(inverse @ scatter) / max(np.trace(inverse @ likelihood), 1e-9))
    inflation = float(np.clip(over, 1.0, 10.0))
    covariance = np.zeros((len(best.free),) * 2)
    # The prior's own width is not widened: it was not learned from days.
    widened = np.linalg.inv(likelihood / inflation + problem.precision)
    covariance[np.ix_(problem.active, problem.active)] = (widened + widened.T) / 2
    return covariance, inflation


def draw(free, covariance, draws, seed):
    """Return plausible houses on the fitted scale, shape (draws, P): the best first, then drawn around it."""
    values, vectors = np.linalg.eigh(covariance)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    normal = np.random.default_rng(seed).standard_normal((max(draws - 1, 0), len(free)))
    return np.concatenate([free[None], free + np.clip(normal, -2.5, 2.5) @ root.T])


def _not_learned(problem, best, grid):
    """Return sentences on parameters that the log left at their prior."""
    inverse = np.sqrt(np.diag(np.linalg.inv(best.information)))
    before = np.sqrt(np.diag(np.linalg.inv(problem.precision)))
    loose = {house.NAMES[i]: inverse[k] / before[k] for k, i in enumerate(problem.active)}
    named = {
        "air_capacity": "the heat held by the air",
        "mass_capacity": "the heat held by floor surface, pots and beds",
        "floor_capacity": "the heat held by the floor",
        "vent_loss": "what the vents let out (they hardly opened)",
        "ground_exchange": "the store's exchange with the ground around it",
        "soil_capacity": "the size of the store",
        "charge_ratio": "how charging differs from discharging",
        "condensing": "condensation in the pipes",
        "effectiveness": "the exchange effectiveness of the pipes",
        "loss": "the loss to outside",
    }
    missed = [text for name, text in named.items() if loose.get(name, 0.0) > 0.8]
    return [f"Not learned, left near its prior: {'; '.join(missed)}."] if missed else []
