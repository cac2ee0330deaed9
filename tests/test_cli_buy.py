"""`buy` and `forecast` from end to end on small lists: pure JSON, what leads, the same for any number of workers."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

HEAD = "order,panel,quantity,width,height,glass,edges,booked,due,cut\n"
HISTORY = HEAD + "".join(
    f"H-{k},shelf,{2 + k % 5},{700 + 40 * (k % 7)},{300 + 30 * (k % 4)},clear-6,polished,"
    f"2027-{1 + k // 28:02}-{1 + k % 28:02},2027-{1 + (k + 5) // 28:02}-{1 + (k + 5) % 28:02},"
    f"2027-{1 + (k + 5) // 28:02}-{1 + (k + 5) % 28:02}\n"
    for k in range(50)
)
OPEN = (
    "order,panel,quantity,width,height,glass,due\n"
    "O-1,shelf,30,900,400,clear-6,2027-03-10\n"
    "O-2,wall,1,4000,400,clear-6,2027-03-11\n"
    "O-3,wall,1,400,400,clear-8,2027-03-11\n"
)
SUPPLY = (
    "glass,width,height,supplier,price,lead days,lead spread\n"
    "clear-6,3210,2250,Gannet Depot,66.45,3,1\n"
    "clear-6,2440,1830,Gannet Depot,41.00,3,1\n"
)
STOCK = "kind,glass,width,height,on hand,price,buy\nsheet,clear-6,3210,2250,1,,yes\n"


def ran(folder: Path, *args: str) -> tuple[dict[str, Any], str]:
    """The JSON object of a run, which is all of its stdout, and its stderr."""
    for name, text in {"history": HISTORY, "open": OPEN, "supply": SUPPLY, "stock": STOCK}.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    lists = [
        "open.csv",
        "--history",
        "history.csv",
        "--supply",
        "supply.csv",
        "--stock",
        "stock.csv",
        "--on",
        "2027-03-08",
    ]
    command = [sys.executable, "-m", "panewright.cli.main", args[0], *lists, *args[1:]]
    command += ["--futures", "20", "--weeks", "3", "--json", "--no-test"]
    done = subprocess.run(
        command,
        cwd=folder,
        check=False,
        capture_output=True,
        text=True,
        encoding="utf-8",
    )
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found, done.stderr


def test_buy_says_the_same_with_one_and_two_workers(tmp_path: Path) -> None:
    one, _ = ran(tmp_path, "buy", "--workers", "1")
    two, _ = ran(tmp_path, "buy", "--workers", "2")
    assert one == two
    lead = " ".join(one["lead"])
    assert "Order today for" in lead
    # what no order of sheets helps is said at once
    assert "2 panels are on no sheet of any supplier" in lead
    assert "O-2/wall/1" in lead and "O-3/wall/1" in lead
    assert "All open orders have their sheets" not in json.dumps(one)


def test_forecast_writes_json_alone(tmp_path: Path) -> None:
    found, _ = ran(tmp_path, "forecast", "--workers", "1", "--nests", "5")
    assert found["title"] == "Forecast of sheets"
