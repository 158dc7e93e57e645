"""A short form of `python -m tests.faults.ask_anything`, which puts 100,000 strings through everything that can be asked."""

from tests.faults.ask_anything import run


def test_odd_strings_get_a_result_or_a_refusal_that_helps():
    found = run(1_000, seed=20, timed=False)
    assert found.faults == []
    assert 0 < found.refused < found.asked
