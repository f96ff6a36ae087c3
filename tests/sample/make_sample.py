"""Makes sample_farm/. Run it from the project's folder: ``python -m tests.sample.make_sample``."""

from __future__ import annotations

import csv
from pathlib import Path

from tests.sample.invented_weather import weather_csv
from tests.sample.observations import observation_files
from tests.sample.programme import (
    BIOFIXES,
    BLOCKS,
    FARMS,
    LETTERS,
    LURES,
    MODELS,
    RUNNING_DAY,
    STATIONS,
    THRESHOLDS,
    routes_csv,
    traps_csv,
)
from tests.sample.tallies import tally_files

FOLDER = Path(__file__).parents[2] / "sample_farm"
ABOUT = Path(__file__).with_name("about.txt")


def sample_files() -> dict[str, str]:
    """Every file of the sample by its path under sample_farm/."""
    return {
        "ABOUT.txt": ABOUT.read_text(encoding="utf-8"),
        "running_day.txt": f"{RUNNING_DAY.isoformat()}\n",
        "farms.csv": FARMS,
        "blocks.csv": BLOCKS,
        "stations.csv": STATIONS,
        "traps.csv": traps_csv(),
        "lures.csv": LURES,
        "routes.csv": routes_csv(),
        "weather.csv": weather_csv(RUNNING_DAY),
        "thresholds.toml": THRESHOLDS,
        "models.toml": MODELS,
        "letters.toml": LETTERS,
        **{f"tallies/{name}": text for name, text in tally_files().items()},
        "tallies/biofixes.csv": BIOFIXES,
        **observation_files(csv.DictReader(traps_csv().splitlines())),
    }


def main() -> None:
    """Write the sample anew, and take away files that are no longer part of it."""
    files = sample_files()
    for path in [*FOLDER.glob("*.*"), *FOLDER.glob("tallies/*"), *FOLDER.glob("observations/*")]:
        if path.is_file() and path.relative_to(FOLDER).as_posix() not in files and path.suffix in {".csv", ".txt"}:
            path.unlink()
    for name, text in files.items():
        path = FOLDER / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
    print(f"{len(files)} files in {FOLDER.name}/")


if __name__ == "__main__":
    main()
