"""How long a separation sheet takes, warm and as a command: 200 compositions, six components, ten plates."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

from cutpoint import db
from cutpoint.planner.recipes.reading import read_recipe
from cutpoint.planner.stills.plan import make_plan

WARM_LIMIT_S, COLD_LIMIT_S = 2.0, 5.0
REPEATS = 5

RECIPE = """
label = '''
hexane 30-40 %
ethyl acetate 20-30 %
acetone 5-10 %
ethanol 5-10 %
toluene 10-20 %
2-butanone 5-15 %
'''
[feed]
volume = "2 L"
[target]
ingredient = "toluene"
purity = "90 %"
[place]
pressure = "84 kPa"
[column]
plates = 10
reflux_ratio = 3
"""


def test_a_sheet_of_six_components(store: db.Store, real_store: Path, tmp_path: Path) -> None:
    file = tmp_path / "recipe.toml"
    file.write_text(RECIPE)
    recipe = read_recipe(file)
    plan = make_plan(store, recipe)
    assert (plan.n_compositions, len(plan.ingredients), plan.plates) == (200, 6, 10)
    warm = [_seconds(lambda: make_plan(store, recipe)) for _ in range(REPEATS)]
    command = [sys.executable, "-m", "cutpoint.planner", "plan", str(file)]
    asked = {"env": os.environ | {"CUTPOINT_DB": str(real_store)}, "stdout": subprocess.DEVNULL, "check": True}
    cold = [_seconds(lambda: subprocess.run(command, **asked)) for _ in range(REPEATS)]
    for name, times, limit_s in (("warm", warm, WARM_LIMIT_S), ("cold", cold, COLD_LIMIT_S)):
        middle = statistics.median(times)
        print(
            f"\nsheet, {name}: median {middle:.2f} s of {REPEATS} (fastest {min(times):.2f} s), "
            f"{middle / limit_s:.2f} of the limit of {limit_s:g} s"
        )


def _seconds(work) -> float:
    started = time.perf_counter()
    work()
    return time.perf_counter() - started
