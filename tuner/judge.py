"""What tried settings are worth: harm and money, from sums by night; the choice between them.

Lives here: objectives, the allowance, named picks, what counts as a gain. Never here: trying (trials.py), words.

Harm: degree-hours below the frost floor and above the hot limit, mean over the plausible houses, summed over the
weathers. Money: fan energy at its price, wear of the starts, and where [energy] backup_price_per_kwh is given the
heat that would be needed to keep the floor; weathers by their weight.
"""

from dataclasses import dataclass

import numpy as np

from tuner import closed_loop, house, tryout

# Harm beyond the least found in a weather that money may buy, our choice: the larger of the first two, the share up to
# ALLOWED_MOST_K_H. The last counts only in the log's own weather, and never buys more harm than the current settings
# do: what a fan prevents is predicted to about a tenth (closed_loop.MODEL_SHARE), so half of that is not worth money.
ALLOWED_K_H, ALLOWED_SHARE, ALLOWED_MOST_K_H, ALLOWED_PREVENTED = 0.25, 0.02, 1.0, 0.05
WEAR_MINUTES = 1.0  # a start wears motor and relay like so many minutes of running; assumption


@dataclass(frozen=True)
class Prices:
    """What money is made of. start: one start [money]; backup: [money per kWh] or 0; loss: [W/K] of the house;
    weights: (weathers,)."""

    start: float
    backup: float
    loss: float
    weights: np.ndarray


def prices_of(fit, weathers, mean_price):
    """Return the Prices of a site; mean_price : of a kWh over the log."""
    site = fit.grid.site
    start = site.fan.watts * WEAR_MINUTES / 60.0 / 1000.0 * mean_price
    loss = float(fit.values[house.INDEX["loss"]])
    return Prices(start, site.energy.backup_price_per_kwh or 0.0, loss, np.array([w.weight for w in weathers]))


def harm_and_money(sums, prices, nights=None):
    """Return (cold, hot, money) by plausible house, each shape (..., houses).

    sums : (..., houses, weathers, nights, tryout.COLUMNS); nights : bool (nights,), those counted, or None for all
    cold, hot : degree-hours over all weathers [K h]
    """
    total = (sums if nights is None else sums[..., nights, :]).sum(-2)
    cold, hot = total[..., tryout.COLD].sum(-1), total[..., tryout.HOT].sum(-1)
    return cold, hot, (paid(total, prices) * prices.weights).sum(-1)


def paid(total, prices):
    """Return the money of sums (..., tryout.COLUMNS): fan, wear, and backup heat where it has a price."""
    # Holding the floor for an hour takes the loss times each degree that the house would lack.
    lacking = total[..., tryout.COLD] * prices.loss / 1000.0
    one = total[..., tryout.MONEY] + total[..., tryout.STARTS] * prices.start
    return one + (lacking + total[..., tryout.HEATER]) * prices.backup


def logged_money(sums, prices, nights=None):
    """Return the money of the first weather, the log's own, by plausible house; sums as in harm_and_money."""
    some = sums if nights is None else sums[..., nights, :]
    return paid(some[..., 0, :, :].sum(-2), prices)


def objectives(sums, prices, nights=None):
    """Return means over the houses, shape (..., 3 + weathers): cold, hot, money, and the harm in each weather."""
    three = np.stack([one.mean(-1) for one in harm_and_money(sums, prices, nights)], -1)
    some = sums if nights is None else sums[..., nights, :]
    each = some[..., [tryout.COLD, tryout.HOT]].sum((-1, -2)).mean(-2)
    return np.concatenate([three, each], -1)


def small(harm):
    """Return how much more than a harm is as good as none, whatever the weather; arrays or floats [K h]."""
    return np.clip(ALLOWED_SHARE * harm, ALLOWED_K_H, ALLOWED_MOST_K_H)


def allowed(values, idle=None, now=None):
    """Return the harm that the pick may have in each weather, (weathers,), from values (k, 3 + weathers) [K h].

    idle, now : harm in the log's own weather were the fan never to run, and with the current settings; None where
    that does not matter
    """
    values = np.asarray(values)
    best = values[np.isfinite(values).all(1)][:, 3:].min(0)
    more = small(best)
    if idle is not None and now is not None:
        more[0] = max(more[0], min(ALLOWED_PREVENTED * (idle - best[0]), now - best[0]))
    return best + more


def rank(values, limit):
    """Return (harm beyond the limits, money) of one row of objectives: the smaller is the better settings."""
    return float(np.maximum(0.0, np.asarray(values[3:]) - limit).sum()), float(values[2])


def choose(values, idle=None, now=None):
    """Return the place of the pick among values (k, 3 + weathers): the cheapest within the allowance in every
    weather, else the one nearest to that; first among equals."""
    limit = allowed(values, idle, now)
    return min(range(len(values)), key=lambda i: (*rank(values[i], limit), i))


def thriftiest(values, now):
    """Return the place of the cheapest whose harm in all weathers together is not above that of place `now`."""
    harm = values[:, 0] + values[:, 1]
    return min(range(len(values)), key=lambda i: (harm[i] > harm[now] + 1e-9, values[i, 2], i))


def safest(values):
    """Return the place of the least harm; of equals within 0.01 K h the cheapest."""
    harm = np.round(values[:, 0] + values[:, 1], 2)
    return min(range(len(values)), key=lambda i: (harm[i], values[i, 2], i))


@dataclass(frozen=True)
class Gain:
    """What new settings gain over the current ones. money: mean gain in the first weather, the log's own; harm: in all
    weathers together; *_spread: half the 90 % band.

    slack: more harm than now that still counts as none: the allowance on the harm of the current settings [K h].
    """

    money: float
    money_spread: float
    harm: float
    harm_spread: float
    slack: float = ALLOWED_K_H

    @property
    def real(self):
        """Is there less harm, or less money at no more harm than the allowance, beyond the spread?"""
        safer = self.harm > self.harm_spread and self.harm > 0.05
        cheaper = self.money > self.money_spread and self.money > 0.0
        return safer or (cheaper and self.harm >= -self.slack)


def gain(now, new, prices, nights=None):
    """Return the Gain of sums `new` over sums `now`, each (houses, weathers, nights, columns), house by house.

    To the spread of the houses comes the share of a predicted difference that the model's form leaves out.
    """
    money = logged_money(now, prices, nights) - logged_money(new, prices, nights)
    before, after = (np.stack(harm_and_money(one, prices, nights)[:2]) for one in (now, new))
    harm = (before - after).sum(0)

    def spread(one):
        drawn = float(one.std()) if len(one) > 1 else 0.0
        return closed_loop.NINETY * float(np.hypot(drawn, closed_loop.MODEL_SHARE * one.mean()))

    each = objectives(now, prices, nights)[3:]
    slack = float(small(each).sum())
    return Gain(float(money.mean()), spread(money), float(harm.mean()), spread(harm), slack)
