"""Whether the wall clock was set, told apart from time that passes."""

from server.api.clock import SLIP_S, Clock

__all__: list[str] = []


class Laptop:
    """Two clocks; stopped: seconds for which the process is stopped right after the wall clock is read."""

    def __init__(self) -> None:
        self.passed, self.set_by, self.stopped = 0.0, 1000.0, 0.0

    def steady(self) -> float:
        return self.passed

    def wall(self) -> float:
        now = self.passed + self.set_by
        self.passed, self.stopped = self.passed + self.stopped, 0.0
        return now


def test_time_that_passes_is_no_setting() -> None:
    laptop = Laptop()
    clock = Clock(laptop.wall, laptop.steady)
    laptop.passed += 3600.0
    assert clock.read() == (4600.0, 0.0)


def test_each_setting_is_told_once_and_by_how_much() -> None:
    laptop = Laptop()
    clock = Clock(laptop.wall, laptop.steady)
    for by_s in (-3600.0, 3600.0, 0.5):
        laptop.set_by += by_s
        laptop.passed += 0.5
        assert clock.read()[1] == by_s
        assert clock.read()[1] == 0.0


def test_a_clock_that_is_drawn_slowly_is_told_of_when_it_amounts_to_something() -> None:
    laptop = Laptop()
    clock = Clock(laptop.wall, laptop.steady)
    told = []
    for _ in range(100):
        laptop.set_by -= SLIP_S / 10
        told.append(clock.read()[1])
    assert abs(sum(told) + 10 * SLIP_S) <= SLIP_S
    assert 1 <= sum(by != 0.0 for by in told) <= 10


def test_a_process_stopped_between_the_two_clocks_has_set_none() -> None:
    laptop = Laptop()
    clock = Clock(laptop.wall, laptop.steady)
    laptop.stopped = 10.0
    assert clock.read() == (1010.0, 0.0)
