"""A reference table: how it is written and compared; names and constants that the tables share."""

from dataclasses import dataclass

import cantera
import CoolProp
import numpy
import scipy
import statsmodels

COOLPROP = f"CoolProp {CoolProp.__version__}"
CANTERA = f"Cantera {cantera.__version__}"
SCIPY = f"SciPy {scipy.__version__}"
NUMPY = f"NumPy {numpy.__version__}"
STATSMODELS = f"statsmodels {statsmodels.__version__}"

R = 287.05
BAR = 1e5
MEMORY = "cited from memory"


@dataclass
class Table:
    """A table: its name, its head, its columns, its rows, and how far a number may be off."""

    name: str
    head: list[str]
    columns: list[str]
    rows: list[list]
    tolerance: float

    def text(self):
        lines = [f"# {line}" for line in self.head]
        lines += [f"# tolerance of a fresh table: {self.tolerance:g} of a column's largest magnitude"]
        lines += [",".join(self.columns)]
        lines += [",".join(map(cell, row)) for row in self.rows]
        return "\n".join(lines) + "\n"

    def differences(self, text):
        """What is wrong with a committed text, in words."""
        fresh, old = ([line.split(",") for line in t.splitlines()] for t in (self.text(), text))
        start = len(self.head) + 2
        if fresh[:start] != old[:start] or len(fresh) != len(old):
            return ["its head, its columns or its length differ"]
        faults = []
        for column, name in enumerate(self.columns):
            pairs = [(a[column], b[column]) for a, b in zip(fresh[start:], old[start:])]
            numbers = [(number(a), number(b)) for a, b in pairs]
            if any(None in pair for pair in numbers):
                if any(a != b for a, b in pairs):
                    faults.append(f"{name}: words differ")
                continue
            worst = max(abs(a - b) for a, b in numbers)
            allowed = self.tolerance * max(abs(a) for a, _ in numbers)
            if not worst <= allowed:
                faults.append(f"{name}: off by {worst:g}, allowed {allowed:g}")
        return faults


def cell(value):
    return f"{value:.12g}" if isinstance(value, float) else str(value)


def number(text):
    try:
        return float(text)
    except ValueError:
        return None
