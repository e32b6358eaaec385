"""Console, outputs, readback and hand switch. Each case returns (scene, whether all was as it must be)."""

import stage
from scene import Scene

REST, CHARGE, DISCHARGE, BLIND, HAND = 0, 1, 2, 3, 4
SWITCH = {"hand_fitted": 1}
DRY = {"humidity": "none", "hand_fitted": 1}


BAD_LINES = (
    "x" * 3000, "nonsense", "set", "set min_run_s", "set min_run_s 1e999", "set min_run_s nan", "set no_name 3",
    "load {", "load []", "load 3", "clock soon", "roles house 12", "roles cellar none", "offset house",
    "offset house 9", "wiring fan steam", "wiring fun pwm", "send x", "trial 1000", "trial x", "test",
    "test everything", "use", "units K", "@status*00000000",
)  # fmt: skip


def kept_its_second(s):
    """Return True when every step of the loop came a second after the one before."""
    return s.ends == ["end"] and s.world.longest_feed_ms <= 1100 and max(s.raws[1:]) == 1


def flood():
    s = Scene()

    def every(second):
        if 100 <= second < 400:
            s.world.port.send(b"status\nset x 1\njunk junk\n" * 60)

    s.every = every
    s.run(900)
    return s, kept_its_second(s) and s.phases() == [REST, DISCHARGE]


def noise():
    s = Scene()
    x = [1]

    def every(second):
        if 100 <= second < 400:
            out = bytearray()
            for _ in range(300):
                x[0] = (x[0] * 75 + 74) % 65537
                if x[0] & 0xFF != 3:
                    out.append(x[0] & 0xFF)
            s.world.port.send(bytes(out))

    s.every = every
    s.at(490, s.world.port.send, b"\n")  # ends what the noise left
    s.ask(500, "clock")
    s.run(560)
    return s, kept_its_second(s) and s.phases() == [REST, DISCHARGE] and "ok clock not set" in s.text()


def silent_host():
    s = Scene()
    s.at(100, setattr, s.world.port, "takes", False)
    for t in range(110, 160, 5):
        s.ask(t, "settings")
    s.at(300, setattr, s.world.port, "takes", True)
    s.ask(400, "clock")
    s.run(500)
    return s, kept_its_second(s) and "ok clock not set" in s.text() and s.phases() == [REST, DISCHARGE]


def port_fails():
    s = Scene()

    def fails():
        raise OSError(19)

    s.at(100, setattr, s.world.port, "read", fails)
    s.run(300)
    return s, kept_its_second(s) and s.phases() == [REST, DISCHARGE]


def bad_lines():
    s = Scene()
    for i in range(len(BAD_LINES)):
        s.ask(20 + i, BAD_LINES[i])
    s.run(60)
    errors = [line for line in s.text().split("\r\n") if line.startswith("error")]
    inside = [line for line in errors if "inside" in line]
    return s, len(errors) == 25 and not inside and kept_its_second(s)


def sealed_line():
    import binascii

    s = Scene()
    text = b"@clock"
    s.at(20, s.world.port.send, text + b"*%08X\r\n" % binascii.crc32(text))
    s.run(30)
    answer = b"ok clock not set"
    return s, s.text() == "%s*%08X\r\n" % (answer.decode(), binascii.crc32(answer))


def settings_by_hand():
    s = Scene()
    s.ask(20, "set charge_above_c 30 vent_above_c 32.5")
    s.ask(21, "save")
    s.ask(22, "set charge_above_c 33")
    s.at(40, s.world.stop, "power")
    s.run(60)
    words = "error vent_above_c must be at least 1 above charge_above_c (now vent_above_c 32.5, charge_above_c 33)."
    return s, words in s.text() and s.settings.charge_above_centi_c == 3000 and s.settings.vent_above_centi_c == 3250


def setting_not_saved():
    s = Scene()
    s.ask(20, "set charge_above_c 25")
    s.at(40, s.world.stop, "power")
    s.run(60)
    return s, s.settings.charge_above_centi_c == 1800


def trial_and_reset():
    s = Scene()
    s.set(house=9)
    s.ask(20, "trial 2")
    s.at(4000, s.world.stop, "watchdog")
    s.run(6100)
    ran = s.on_s(s.fan, 0, 3990)
    return s, "trial-run" in s.reasons() and 1700 <= ran <= 2300 and not s.on_s(s.fan, 4010)


def welded():
    s = Scene(wiring={"readback_fitted": 1})
    s.set(house=12)
    s.world.ins[stage.READBACK] = 0
    s.run(60)
    return s, s.alarms() == ["contactor-on"] and s.alarm[-1] and s.phases() == [REST]


def dead_contactor():
    s = Scene(wiring={"readback_fitted": 1})
    s.run(120)
    return s, s.alarms() == ["contactor-off"] and s.alarm[-1] and s.fan[-1]


def contactor_well():
    s = Scene(wiring={"readback_fitted": 1})
    s.every = lambda second: s.world.ins.__setitem__(stage.READBACK, 1 - s.fan[-1])
    s.run(300)
    return s, s.alarms() == [] and s.fan[-1] and not s.alarm[-1]


def pin_stuck(pin, level):
    def case():
        s = Scene()
        s.at(100, s.world.stuck_outs.__setitem__, pin, level)
        s.ask(110, "faults")
        s.run(130)
        return s, "output: An output's pin does not follow" in s.text() and s.alarm[-1] and s.ends == ["end"]

    return case


def pin_disturbed():
    s = Scene()
    s.set(house=12)
    s.at(100, s.world.outs.__setitem__, stage.HEATER, 1)
    s.run(120)
    return s, s.on_s(s.heater) <= 1


def heater_and_vent():
    s = Scene({"vent_above_c": 30, "heat_below_c": 2})
    for i in range(20):
        s.at(100 + 120 * i, lambda i=i: s.set(house=1 if i % 2 else 40))
    s.run(2600)
    both = [i for i in range(len(s.heater)) if s.heater[i] and s.vent[i]]
    return s, s.on_s(s.heater) and s.on_s(s.vent) and not both


def moved(contact, start, want_phase, wiring=None, fault=None):
    """Return a case: the switch is moved in the phase that `start` (house degrees) leads to, and back."""

    def case():
        s = Scene(wiring=wiring or SWITCH)
        s.set(house=start)
        if fault:
            s.at(100, s.fault, *fault)
        s.at(300, s.world.ins.__setitem__, contact, 0)
        s.at(500, s.world.ins.__setitem__, contact, 1)
        s.run(700)
        before = [phase for second, phase, _ in s.states if second < 300][-1]
        hand = [row for row in s.states if row[1] == HAND]
        after = [row for row in s.states if row[0] >= 500]
        rested = contact == stage.HAND_OFF or not s.on_s(s.fan, 503, 560)  # on "off" it has rested already
        fan = s.fan[400]
        ok = before == want_phase and 300 <= hand[0][0] <= 302 and fan == (1 if contact == stage.HAND_ON else 0)
        return s, ok and after[0][1] == REST and rested and s.ends == ["end"]

    return case


def both_contacts():
    s = Scene(wiring=SWITCH)
    s.world.ins[stage.HAND_ON] = s.world.ins[stage.HAND_OFF] = 0
    s.run(200)
    return s, s.phases() == [REST, DISCHARGE]


def contact_bounce():
    s = Scene(wiring=SWITCH)
    for t in range(100, 200, 3):
        s.at(t, s.world.ins.__setitem__, stage.HAND_OFF, 0)
        s.at(t + 1, s.world.ins.__setitem__, stage.HAND_OFF, 1)
    s.run(300)
    return s, s.phases() == [REST, DISCHARGE]


def test_fan():
    s = Scene()
    s.set(house=12)
    s.ask(100, "test fan")
    s.ask(120, "test fan")
    s.run(300)
    return s, 4 <= s.on_s(s.fan) <= 7 and "error no test: the fan must have rested for 60 s." in s.text()


def test_heater():
    s = Scene()
    s.set(house=12)
    s.ask(100, "test heater")
    s.ask(150, "test vent")
    s.run(300)
    both = [i for i in range(len(s.heater)) if s.heater[i] and s.vent[i]]
    return s, 4 <= s.on_s(s.heater) <= 6 and 4 <= s.on_s(s.vent) <= 6 and not both


def test_refused():
    s = Scene(wiring=SWITCH)
    s.ask(100, "test heater")
    s.at(200, s.world.ins.__setitem__, stage.HAND_OFF, 0)
    s.ask(250, "test fan")
    s.run(300)
    ok = "error no test: the fan must have rested" in s.text() and "the hand switch must be on auto" in s.text()
    return s, ok and not s.on_s(s.heater)


CASES = (
    ("console flooded with lines", "the loop keeps its second", flood),
    ("binary noise on the console", "the loop keeps its second, the console answers afterwards", noise),
    ("host asks and does not listen", "the answer is dropped, the console answers afterwards", silent_host),
    ("port fails at every read", "the loop keeps its second", port_fails),
    ("twenty-five bad lines", "one clear line back for each", bad_lines),
    ("a program's line with checksum", "no echo, the answer is sealed", sealed_line),
    ("settings changed, saved, contradicted", "refused in the core's words, the saved ones survive", settings_by_hand),
    ("setting changed, not saved, power cut", "the old one counts", setting_not_saved),
    ("reset during a trial", "the trial is over", trial_and_reset),
    ("readback on while the fan is off", "alarm: welded", welded),
    ("readback off while the fan is on", "alarm: dead contactor", dead_contactor),
    ("readback as it should be", "no alarm", contactor_well),
    ("fan pin stuck low", "told, alarm", pin_stuck(stage.FAN, 0)),
    ("heater pin stuck high", "told, alarm", pin_stuck(stage.HEATER, 1)),
    ("vent pin stuck high", "told, alarm", pin_stuck(stage.VENT, 1)),
    ("heater pin disturbed", "right again within a second", pin_disturbed),
    ("house swings from frost to heat", "heater and vent never together", heater_and_vent),
    ("switch to off in REST", "HAND, then REST with its rest", moved(stage.HAND_OFF, 12, REST)),
    ("switch to on in REST", "HAND with the fan on, then REST with its rest", moved(stage.HAND_ON, 12, REST)),
    ("switch to off in CHARGE", "the fan stops, then REST with its rest", moved(stage.HAND_OFF, 22, CHARGE)),
    ("switch to on in CHARGE", "the fan runs, then REST with its rest", moved(stage.HAND_ON, 22, CHARGE)),
    ("switch to off in DISCHARGE", "the fan stops, then REST with its rest", moved(stage.HAND_OFF, 6, DISCHARGE)),
    ("switch to on in DISCHARGE", "the fan runs, then REST with its rest", moved(stage.HAND_ON, 6, DISCHARGE)),
    ("switch to off in BLIND", "the fan stops, then REST", moved(stage.HAND_OFF, 6, BLIND, DRY, ("house", "gone"))),
    ("switch to on in BLIND", "the fan runs, then REST", moved(stage.HAND_ON, 6, BLIND, DRY, ("house", "gone"))),
    ("both contacts of the switch closed", "counts as auto", both_contacts),
    ("contacts of the switch bounce", "nothing changes", contact_bounce),
    ("test of the fan", "5 s, then its rest", test_fan),
    ("tests of heater and vent", "5 s each, never together", test_heater),
    ("tests that are not safe", "refused in words", test_refused),
)
