"""The loop: read, screen, decide, switch, log, feed the watchdog. Once a second, for years.

What lives here: the order of things, and what happens when one of them fails. What never does: a decision (core).
"""

import gc
import time

from controller.board import hardware, safe, setup, survive
from controller.board.clock import Clock
from controller.board.commands import Commands
from controller.board.console import Console
from controller.board.light import level
from controller.board.port import Port
from controller.core import decide, screen

FAULT, INTERRUPT, HOST, RESTART = 1, 2, 16, 17  # marks, as in the root's main.py
SECOND_MS = 1000
PUMP_MS, BUSY_PUMP_MS = 50, 2


def run(boot):
    """Run until a host says stop, a fault or Ctrl-C. All outputs are off when it returns, whatever happened."""
    outputs = board = None
    mark = FAULT
    try:
        pins = hardware.pin_map()
        wired, found = setup.wiring(), setup.settings()
        outputs = hardware.outputs(pins, wired[0])
        memory = survive.Survive(boot, found[0].min_rest_s)
        try:
            board = setup.Board(boot, memory, pins, wired, found, outputs)
        except Exception as fault:
            if not memory.safe:
                raise
            print("the safe loop runs bare:", repr(fault))
            bare(memory, boot.watchdog, outputs)
        mark = loop(board)
    except KeyboardInterrupt:
        mark = INTERRUPT
        raise
    except Exception as fault:
        if board is not None:
            board.events.add("fault: " + repr(fault))
        raise
    finally:
        if outputs is not None:
            outputs.off()
        boot.mark(mark)
        if board is not None:
            board.close()
    if mark == RESTART:
        boot.restart()


def bare(memory, watchdog, outputs):
    """The safe loop with nothing round it, when not even the board's parts can be put together. Never returns."""
    timer, clock = safe.Safe(memory.rest_s()), Clock()
    last = time.ticks_ms()
    while True:
        time.sleep_ms(SECOND_MS)
        now = time.ticks_ms()
        elapsed_s = (time.ticks_diff(now, last) + SECOND_MS // 2) // SECOND_MS
        last = now
        outputs.drive(100 if timer.second(elapsed_s) else 0, 0, 0, False, elapsed_s)
        memory.second(elapsed_s, outputs.started, clock.now())
        watchdog.feed()


def loop(board):
    """Run one second after another, until the console says stop. Return the mark of what was asked for."""
    console = Console(Port(), Commands(board))
    second = safe_second if board.survive.safe else ordinary_second
    board.safe = safe.Safe(board.survive.rest_s()) if board.survive.safe else None
    if board.safe is None:
        board.sensors.start()
    last, rest_ms = time.ticks_ms(), 0
    while not board.stopping:
        now = wait(board, console, last)
        rest_ms += time.ticks_diff(now, last)
        last = now
        elapsed_s, rest_ms = rest_ms // SECOND_MS, rest_ms % SECOND_MS
        board.clock.add(elapsed_s)
        second(board, elapsed_s)
        board.survive.second(elapsed_s, board.outputs.started, board.clock.now())
        board.boot.watchdog.feed()
        gc.collect()
    mark = RESTART if board.stopping == "restart" else HOST
    while console.busy() and time.ticks_diff(time.ticks_ms(), last) < SECOND_MS:
        console.pump()  # the answer to stop
        time.sleep_ms(BUSY_PUMP_MS)
    return mark


def wait(board, console, last):
    """Serve console and light until a second has passed since last; return the ticks then."""
    while True:
        now = time.ticks_ms()
        gone = time.ticks_diff(now, last)
        if gone >= SECOND_MS:
            return now
        console.pump()
        board.light(level(board.state.deciding.phase, not board.well(), board.safe is not None, now))
        pause = BUSY_PUMP_MS if console.busy() else PUMP_MS
        time.sleep_ms(max(min(pause, SECOND_MS - gone), 0))


def ordinary_second(board, elapsed_s):
    """One step from the probes to the pins, then the log."""
    raw = board.test.raw(board.sensors.read(elapsed_s, board.trial.request(elapsed_s)))
    board.screen = screen.step(board.screen, raw)
    board.reading = reading = screen.reading(board.settings, board.screen, raw)
    before = board.state
    board.state = state = decide.step(board.settings, before, reading)
    pct = decide.fan_pct(board.settings, state)
    board.outputs.drive(pct, state.deciding.heater, state.deciding.vent, board.well(), elapsed_s)
    board.test.second(board.outputs, board.settings, elapsed_s)
    board.look_at_outputs()
    row = board.minute.second(before, state, board.screen, reading, elapsed_s)
    if row is not None:
        board.log(row)


def safe_second(board, elapsed_s):
    """One step of the safe loop; after half a day without a reset the ordinary loop is tried again."""
    fan = board.safe.second(elapsed_s)
    board.outputs.drive(100 if fan else 0, 0, 0, False, elapsed_s)
    if board.clock.uptime_s % 3600 < elapsed_s:
        board.write_events()
    if board.safe.up_s >= survive.SAFE_S:
        board.survive.leave_safe()
        board.events.add("safe loop over: the ordinary loop is tried again")
        board.stopping = "restart"
