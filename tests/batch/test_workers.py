"""What is said of the workers of a cluster as they come and go."""

from keyer.batch.workers import Workers

A, B, C = "tcp://10.0.0.5:4101", "tcp://10.0.0.5:4102", "tcp://10.0.0.6:4101"


def test_who_comes_and_goes_is_told_once():
    there = Workers()
    assert str(there) == ""
    assert there.now(dict.fromkeys([A, B, C], 1)) == ["rendering on 3 workers of 2 machines."]
    there.rows[A] += 1
    assert there.now(dict.fromkeys([A, B, C], 1)) == []
    assert there.now(dict.fromkeys([A, C], 1)) == [
        f"worker {B} is gone, others do what was begun there: 2 workers now."
    ]
    assert there.now(dict.fromkeys([A], 1)) == [
        f"worker {C} is gone, others do what was begun there: 1 worker now."
    ]
    (said,) = there.now(dict.fromkeys([B, C], 1))
    assert said == (
        f"worker {A} is gone, others do what was begun there; workers {B}, {C} have joined: "
        "2 workers now."
    )
    assert str(there) == "2 workers"


def test_one_that_is_left_out_is_not_told_as_gone():
    there = Workers()
    there.now(dict.fromkeys([A, B], 1))
    there.drop(A)
    assert there.now(dict.fromkeys([B], 1)) == []


def test_of_many_that_come_at_once_three_are_named():
    there = Workers()
    there.now(dict.fromkeys([A], 1))
    there.rows[A] += 1
    (said,) = there.now(
        dict.fromkeys([A, *(f"tcp://10.0.0.9:{port}" for port in range(10, 20))], 1)
    )
    assert said == (
        "workers tcp://10.0.0.9:10, tcp://10.0.0.9:11, tcp://10.0.0.9:12 and 7 more have joined: "
        "11 workers now."
    )
