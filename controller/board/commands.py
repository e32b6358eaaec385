"""The console's commands: a table, and who answers.

What lives here: the table, help, and the way from a line to its function. Each function takes (board, words, text) and
yields lines; a ValueError is the one clear line back.
What never does: characters (console), what a command does (tell, change, files).
"""

from controller.board import change, files, tell

# (command, what may follow, what it does, function)
TABLE = (
    ("help", "", "this list", None),
    ("status", "", "what the board reads, does and why, for people", tell.status),
    ("state", "", "the same as one line of JSON, temperatures in hundredths of a degree C", tell.state),
    ("version", "", "firmware, slots and settings that run", tell.version),
    ("faults", "", "alarms and faults that stand, each explained", tell.faults),
    ("counters", "", "starts and hours since the board was new", tell.counters),
    ("events", "", "starts, resets and faults of the board itself", files.events),
    ("settings", "", "every setting, its bounds and meaning", tell.settings),
    ("set", "NAME VALUE ...", "change settings at once (5, 5C or 41F); lost at a reset unless saved", change.set_some),
    ("load", "{JSON}", "replace all settings; names left out get their defaults", change.load),
    ("save", "", "keep the settings through a reset", change.save),
    ("clock", "[2026-03-01T06:30:00Z]", "show or set the clock, UTC", change.clock),
    ("units", "[C | F]", "units that readings are shown in", change.units),
    ("roles", "[ROLE SERIAL | ROLE none | {JSON}]", "which probe is which", change.roles),
    ("offset", "ROLE DEGREES", "correct a probe by so many degrees C, or F: -0.45F", change.offset),
    ("find", "[off]", "look for probes; warm one in the hand and ask again", change.find),
    ("wiring", "[NAME CHOICE]", "what is fitted; counts from the next start", change.wiring),
    ("journal", "", "the log's files, and the rows not yet written", files.journal),
    ("send", "[FILE[:OFFSET] [BLOCKS]]", "send the log's blocks from there on", files.send),
    ("trial", "HOURS", "run and rest by turns, to learn the house; 0 ends it", change.trial),
    ("test", "fan | heater | vent | alarm | light", "switch one output for 5 s, when that is safe", change.test),
    ("selfcheck", "", "decide a fixed course and show its digest", tell.selfcheck_lines),
    ("slots", "[a | b]", "both firmware slots and whether they are whole, or the files of one", tell.slots),
    ("use", "a | b", "start that slot instead, if it is whole", change.use),
    ("restart", "", "outputs off, write everything, start again", change.restart),
    ("stop", "", "outputs off and hand over to the host; without one the watchdog starts it again", change.stop),
)


class Commands:
    """Answers lines for one Board."""

    def __init__(self, board):
        self.board = board

    def __call__(self, text):
        """Return the answer's lines. Raises ValueError for a line that cannot be understood."""
        words = text.split()
        for name, _, _, function in TABLE:
            if name == words[0].lower():
                return help_lines() if function is None else function(self.board, words[1:], text[len(name) :].strip())
        raise ValueError('"%s" is no command. Type help.' % words[0][:20])


def help_lines():
    """Yield the list of commands."""
    for name, follows, meaning, _ in TABLE:
        yield (name + " " + follows).strip() + ": " + meaning
    yield "ok %d commands" % len(TABLE)
