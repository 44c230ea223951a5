"""The verdict over all rules."""

import inspect
from dataclasses import replace
from importlib import import_module
from pkgutil import iter_modules

import service.engine.checks
from service.engine.checks.judge import CHECKS, judge
from service.engine.findings import serves_all


def test_every_check_that_is_written_is_asked():
    written = set()
    for module in iter_modules(service.engine.checks.__path__):
        loaded = import_module(f"service.engine.checks.{module.name}")
        written |= {
            function
            for name, function in inspect.getmembers(loaded, inspect.isfunction)
            if name.startswith("check_")
        }
    assert written == set(CHECKS)
    assert len(CHECKS) == len(set(CHECKS))


def test_a_judgement_is_that_of_the_case(case_for, small, catalogue, limits, services, judged):
    case = case_for(small)
    assert judge(small, catalogue, limits, services, case.report) == judged(small)


def test_row_order_changes_nothing(judged, small):
    turned = replace(
        small, devices=small.devices[::-1], runs=small.runs[::-1], served=small.served[::-1], terminated=()
    )
    weak = [
        replace(
            network,
            feeds=(
                replace(
                    network.feeds[0],
                    carriers=tuple(replace(line, level_dbmv=-12.0) for line in network.feeds[0].carriers),
                ),
            ),
        )
        for network in (small, turned)
    ]
    assert judged(weak[0]) == judged(weak[1])
    assert not serves_all(judged(weak[0]))
