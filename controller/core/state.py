"""What the controller remembers, in two tuples: what decides, and what is told and counted.

What lives here: the shapes. What never does: how they change.
"""

from collections import namedtuple

# What decides. Finite: each timer stops at the longest length that is asked of it.
Deciding = namedtuple(
    "Deciding",
    "phase fan rule run_s rest_s blind_s blind_ran wake_s retry_s guard allowance "
    "heater heater_s heat_wait_s vent vent_s",
)

# The rules that ask, each with what holds it back.
Asked = namedtuple("Asked", "charge charge_limit discharge discharge_limit")

State = namedtuple("State", "deciding counters")
