"""What is seen of a meter's clock at each load and pull, kept over days and boots, and what the meter is told."""

import random
from dataclasses import dataclass, field

import pytest
from reedbench import calibrating, clock
from reedbench.calibrating import ELSEWHERE, GLANCE, NOT_HELD, OLD, TOO_SHORT, glance, watch
from reedbench.errors import LinkFault
from reedbench.ledger import Ledger
from reedbench.link import Meter

START = 1_800_000_000.0


@dataclass
class World:
    """Time as it truly passes, this computer's clock, and a meter whose crystal is `ppm` fast. Plays the link, too."""

    ppm: float
    now_s: float = START
    wrong_s: float = 0.0  # of this computer's calendar
    held: bool = True
    boot: int = 1
    booted_s: float = START - 100.3
    home: str = ""
    faulty: bool = False
    told: list[dict[str, object]] = field(default_factory=list)
    dice: random.Random = field(default_factory=lambda: random.Random(3))

    def time(self) -> float:
        return self.now_s + self.wrong_s

    def monotonic(self) -> float:
        return self.now_s

    def restart(self) -> None:
        self.boot += 1
        self.booted_s = self.now_s

    def request(self, name: str, **values: object) -> dict[str, int]:
        if self.faulty:
            raise LinkFault("the meter was unplugged or switched off")
        if name == "calibrate":
            self.told.append(values)
            return {"taken": int(self.home in ("", values["ledger"]))}
        assert name == "ticks"
        self.now_s += self.dice.uniform(0.0002, 0.018)  # a block of sound, and USB
        up_s = (self.now_s - self.booted_s) * (1 + self.ppm * 1e-6)
        self.now_s += self.dice.uniform(0.0002, 0.002) + (0.1 if self.dice.random() < 0.05 else 0)
        return {"boot": self.boot, "up_s": int(up_s), "us": int(1e6 * up_s) % clock.COUNTER_US}


@pytest.fixture
def world(monkeypatch):
    world = World(ppm=50.0)
    monkeypatch.setattr(calibrating, "time", world)
    monkeypatch.setattr(clock, "running_s", lambda: world.now_s - START + 5000)
    monkeypatch.setattr(clock, "held", lambda: world.held)
    return world


@pytest.fixture
def ledger(tmp_path):
    with Ledger.open(tmp_path / "ledger.db", write=True) as ledger:
        yield ledger


def meter(world, protocol=2):
    return Meter(world, "port", "D1", "bench", "0.1.0", protocol, 7, 0, 0, 0, 0, world.home)


@pytest.mark.parametrize("ppm", [50.0, -50.0, 3.0, -120.0])
def test_two_minutes_are_plenty(world, ledger, ppm):
    world.ppm = ppm
    steps = []
    found = watch(meter(world), ledger, 120, steps.append)
    assert found.told and abs(found.rate.ppm - ppm) < 3 and abs(found.rate.ppm - ppm) < 2 * found.rate.u_ppm
    (told,) = world.told
    assert abs(told["error_ppb"] - 1000 * ppm) < 3000 and 2000 < told["u_ppb"] < 5000
    assert len(ledger.sightings("D1")) < 100, "of thousands only those are kept that say something"
    assert steps == sorted(steps) and steps[-1] == 119


def test_a_load_and_a_pull_half_an_hour_later(world, ledger):
    first = glance(meter(world), ledger)
    assert (first.told, first.rate, first.why) == (False, None, TOO_SHORT)
    world.now_s += 1800
    second = glance(meter(world), ledger)
    assert second.told and abs(second.rate.ppm - 50) < 3 and second.rate.baseline_s == pytest.approx(1800, abs=2)
    assert len(ledger.sightings("D1")) <= 2 * GLANCE


def test_days_and_boots_come_together_and_a_restart_in_between_does_no_harm(world, ledger):
    for ppm in (48.0, 52.0, 50.0):
        world.ppm = ppm
        world.now_s += 86400
        world.restart()
        glance(meter(world), ledger)
        world.now_s += 2400
        found = glance(meter(world), ledger)
    assert found.told and abs(found.rate.ppm - 50) < 2 and 0.7 < found.rate.u_ppm < 3
    world.restart()
    world.now_s += 100
    assert glance(meter(world), ledger).told, "what was known before goes on counting"


def test_a_clock_that_nobody_holds_is_not_believed(world, ledger):
    world.held = False
    found = watch(meter(world), ledger, 120)
    assert (found.told, found.rate, found.why, world.told) == (False, None, NOT_HELD, [])
    world.held = True
    assert abs(watch(meter(world), ledger, 120).rate.ppm - 50) < 3


@pytest.mark.parametrize("step_s", [0.005, -0.005, 0.5, -3600.0])
def test_a_clock_that_is_set_in_between_is_not_believed(world, ledger, step_s):
    glance(meter(world), ledger)
    world.now_s += 60
    world.wrong_s += step_s
    found = glance(meter(world), ledger)
    assert (found.rate, found.why) == (None, TOO_SHORT) and not world.told
    world.now_s += 600
    assert abs(glance(meter(world), ledger).rate.ppm - 50) < 5, "from the step on it counts"


def test_only_the_home_ledger_is_believed(world, ledger):
    world.home = "another"
    found = watch(meter(world), ledger, 60)
    assert (found.told, found.why) == (False, ELSEWHERE) and found.rate


def test_nobody_is_kept_from_what_he_came_for(world, ledger):
    assert glance(meter(world, protocol=1), ledger).why == OLD
    assert watch(meter(world, protocol=1), ledger, 60).why == OLD
    world.faulty = True
    assert "unplugged" in glance(meter(world), ledger).why
    with pytest.raises(LinkFault):
        watch(meter(world), ledger, 60)


def test_what_was_seen_before_the_cable_went_is_kept(world, ledger):
    def pull_cable(done: int) -> None:
        world.faulty = done >= 40

    with pytest.raises(LinkFault):
        watch(meter(world), ledger, 60, pull_cable)
    world.faulty = False
    assert abs(glance(meter(world), ledger).rate.ppm - 50) < 5
