"""How many numbers of the rules some check from outside would notice if they were others.

    python -m benchmarks.rule_constants [--show]

Every number in ``fieldvoice/rules`` is changed once, a tenth more or less (a small whole one by
one), and the marked tests that run through its module are called. Writes
``results/rule_constants.json``; ``--show`` names what no check notices. It takes about half a
minute of work, in this process.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from tests.rules import mutants

RESULTS = Path(__file__).parent / "results" / "rule_constants.json"


def measure(show: bool) -> dict[str, object]:
    """Return the figures, by module and in all."""
    by_module, missed = {}, []
    for module in mutants.modules():
        found = mutants.constants(module)
        if not found:
            continue
        printed = [one for one in found if not one.is_choice]
        unnoticed = [one for one in printed if mutants.caught_by(one) is None]
        missed += [str(one) for one in unnoticed]
        by_module[module] = {
            "numbers": len(found),
            "choices": len(found) - len(printed),
            "noticed": len(printed) - len(unnoticed),
            "unnoticed": len(unnoticed),
        }
    noticed = sum(one["noticed"] for one in by_module.values())
    printed_in_all = noticed + len(missed)
    if show:
        print("\n".join(missed))
    return {
        "checks": len(mutants.checks()),
        "numbers": sum(one["numbers"] for one in by_module.values()),
        "choices": sum(one["choices"] for one in by_module.values()),
        "noticed": noticed,
        "unnoticed": len(missed),
        "share": round(noticed / printed_in_all, 4),
        "by_module": by_module,
        "not_noticed": missed,
    }


def main() -> None:
    """Measure, write the figures down, and print the share."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--show", action="store_true")
    figures = measure(options.parse_args().show)
    RESULTS.write_text(json.dumps(figures, indent=1) + "\n", encoding="utf-8")
    print(
        f"{figures['checks']} checks; of {figures['numbers']} numbers {figures['choices']} are "
        f"choices; of the others {figures['noticed']} are noticed, {figures['unnoticed']} not: "
        f"{figures['share']:.1%}"
    )


if __name__ == "__main__":
    main()
