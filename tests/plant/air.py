"""One step of the quick part of the house by the explicit midpoint rule, and what its water films cannot hold."""

from tests.plant import balance
from tests.plant.balance import QUICK, TOTALS, W_DRAINED, W_RUNOFF, W_SOIL_TO_PIPE
from tests.plant.jit import jit


@jit
def settle_films(film, condensed, share, p, h_s, totals):
    """Let films that are too full run off or drain, and book water that the soil, not the film, gave the pipes."""
    if film[0] > p.cover_film_full:
        totals[W_RUNOFF] += film[0] - p.cover_film_full
        film[0] = p.cover_film_full
    if film[1] > p.leaf_film_full:
        totals[W_RUNOFF] += film[1] - p.leaf_film_full
        film[1] = p.leaf_film_full
    if share > 0.0:
        full = p.film_full * p.wall_area / p.segments
        for j in range(p.segments):
            now = film[2 + j] + condensed[j] * h_s
            if now < 0.0:
                totals[W_SOIL_TO_PIPE] -= now
                now = 0.0
            elif now > full:
                totals[W_DRAINED] += now - full
                now = full
            film[2 + j] = now


@jit
def move(y, film, outer, top, scene, p, work, totals):
    """Step y and film by scene.h_s [s], in place; adds to totals. work : scratch, shape (5, 32).

    Returns outer and top anew, and the pipes' outlet (temperature, ratio).
    """
    dy, dfilm, rate, half_y, half_film = work[0], work[1], work[2], work[3], work[4]
    h_s = scene.h_s
    outer, top, _, _ = balance.flows(y, film, outer, top, scene, p, dy, dfilm, rate)
    for i in range(QUICK):
        half_y[i] = y[i] + 0.5 * h_s * dy[i]
    for i in range(film.size):
        half_film[i] = film[i]
    outer, top, stream_t, stream_w = balance.flows(half_y, half_film, outer, top, scene, p, dy, dfilm, rate)
    for i in range(QUICK):
        y[i] += h_s * dy[i]
    film[0] += h_s * dfilm[0]
    film[1] += h_s * dfilm[1]
    for i in range(TOTALS):
        totals[i] += h_s * rate[i]
    settle_films(film, scene.condensed, scene.share, p, h_s, totals)
    return outer, top, stream_t, stream_w
