"""Skep's sums against general-purpose libraries on a wide grid.

Each topic states the width within which skep must lie and why. No equation is
shared with skep except where it says so ('same equation': catches slips only).
"""

import subprocess
import sys
import warnings

warnings.filterwarnings("ignore")

import CoolProp.CoolProp as cp
import PyCO2SYS
from chemicals.identifiers import MW
from chemicals.refractivity import brix_to_RI
from iapws import IAPWS95
from scipy import constants
from scipy.optimize import brentq

cases = []  # topic, line for skep, expected, width


def add(topic, line, expected, width):
    cases.append((topic, line, float(expected), float(width)))


def grid(low, high, steps):
    return [low + (high - low) * i / steps for i in range(steps + 1)]


def water(t):
    """Density by IAPWS-95, kg/m3."""
    return IAPWS95(T=t + 273.15, P=0.101325).rho


# Water: the sucrose equation's own line lies within 0.005 kg/m3 (older temperature scale).
for t in grid(0.1, 60, 240):
    add("water, IAPWS-95", f"water {t:.6f}", water(t), 0.006)
for t in grid(0.1, 60, 120):
    add("water, CoolProp", f"water {t:.6f}", cp.PropsSI("D", "T", t + 273.15, "P", 101325, "Water"), 0.006)
for t in grid(0.1, 40, 80):
    add("water of the ethanol formula, IAPWS-95", f"ethanol 0 {t:.6f}", water(t), 0.008)

# Pure ethanol: CoolProp's reference equation states 0.2 % in density.
for t in grid(-15, 40, 55):
    rho = cp.PropsSI("D", "T", t + 273.15, "P", 101325, "Ethanol")
    add("pure ethanol, CoolProp", f"ethanol 100 {t:.6f}", rho, 0.002 * rho)
# Ethanol-water: the secondary-fluid fit is coarse, 0.5 kg/m3.
for p in grid(2, 40, 38):
    for t in grid(0, 30, 15):
        try:
            rho = cp.PropsSI("D", "T", t + 273.15, "P", 101325, f"INCOMP::MEA[{p / 100}]")
        except ValueError:
            continue  # below the mixture's freezing point in that fit
        add("ethanol-water, CoolProp fit", f"ethanol {p:.6f} {t:.6f}", rho, 0.5)

# Refraction of sucrose: ICUMSA 1974 values; to 60 % within 0.0001, then the older table that
# skep follows parts from them.
for b in grid(0, 80, 160):
    add("refraction of sucrose, ICUMSA", f"index {b:.6f}", brix_to_RI(b), 0.0001 if b <= 60 else 0.0002)

# A hydrometer in plain water, from IAPWS-95 and the glass alone.
for t0 in (15.0, 28 / 1.8, 20.0):
    for t in grid(0.5, 40, 79):
        shown = water(t) * (1 + 25e-6 * (t - t0)) / water(t0)
        add("hydrometer in water, IAPWS-95", f"hydrometer {shown:.9f} {t:.6f} {t0:.6f}", 1.0, 0.00001)

# CO2 in water. PyCO2SYS has the same equation (Weiss 1974); Carroll 1991 is the other review.
import math

M_CO2, M_WATER = MW("CO2"), MW("H2O")
for t in grid(0, 40, 80):
    k0 = PyCO2SYS.sys(salinity=0, temperature=t)["k_CO2"]
    add("CO2 in water, PyCO2SYS (same equation)", f"co2-water {t:.6f}", k0 * M_CO2 * water(t) / 1000 / 1.01325, 2e-5)
    T = t + 273.15
    h = math.exp(-6.8346 + 1.2817e4 / T - 3.7668e6 / T**2 + 2.997e8 / T**3)
    x = 0.1 / h
    other = x / (1 - x) / (M_WATER / 1000) * M_CO2 * water(t) / 1000
    add("CO2 in water, Carroll 1991", f"co2-water {t:.6f}", other, 0.025 * other)

# Water vapour over water.
for t in grid(0.1, 40, 80):
    p = cp.PropsSI("P", "T", t + 273.15, "Q", 0, "Water")
    add("vapour pressure, CoolProp", f"vapour {t:.6f}", p, 0.001 * p)

# Gas and molar masses.
add("CO2 gas, CoolProp", "constant volume", cp.PropsSI("D", "T", 273.15, "P", 101325, "CO2"), 0.0002)
glucose, sucrose = MW("50-99-7"), MW("57-50-1")
masses = {
    "co2-glucose": (2 * M_CO2 / glucose, 1e-4),
    "co2-sucrose": (4 * M_CO2 / sucrose, 1e-4),
    "co2-dextrose": (2 * M_CO2 / (glucose + M_WATER), 1e-4),
    "so2-potassium": (2 * MW("7446-09-5") / MW("16731-55-8"), 2e-4),
    "so2-sodium": (2 * MW("7446-09-5") / MW("7681-57-4"), 2e-4),
    "sorbate": (MW("110-44-1") / MW("24634-61-5"), 2e-4),
    "dap": (2 * MW("7727-37-9") / 2 / MW("7783-28-0"), 2e-4),
    "tartaric": (MW("87-69-4") / 2, 0.01),
    "malic": (MW("6915-15-7") / 2, 0.01),
    "citric": (MW("77-92-9") / 3, 0.01),
    "lactic": (MW("50-21-5"), 0.01),
    "sulfuric": (MW("7664-93-9") / 2, 0.01),
    "bicarbonate": (MW("298-14-6"), 0.01),
    "carbonate": (MW("471-34-1") / 2, 0.01),
}
for name, (value, width) in masses.items():
    add("molar masses", f"constant {name}", value, width)

# Units by scipy.constants.
units = {
    "gal": constants.gallon * 1000,
    "floz": constants.fluid_ounce * 1000,
    "impgal": constants.gallon_imp * 1000,
    "lb": constants.pound * 1000,
    "oz": constants.oz * 1000,
    "psi": constants.psi / 1e5,
    "atm": constants.atm / 1e5,
}
for word, size in units.items():
    for n in (0.5, 1, 5, 12.34):
        add("units, scipy", f"unit {word} {n}", n * size, 1e-9 * n * size)
for f in grid(-20, 212, 58):
    add("units, scipy", f"unit f {f:.6f}", constants.convert_temperature(f, "F", "C"), 1e-6)

# The inverse of the sugar density by another root finder, from skep's own density:
# a check of Newton's method, not of the equation.
inverse = [f"sg {p:.6f}" for p in grid(-10, 84, 188)]


def ask(program, lines):
    done = subprocess.run([program], input="\n".join(lines) + "\n", text=True, capture_output=True, check=True)
    return done.stdout.splitlines()


def main():
    program = sys.argv[1]
    answers = ask(program, [line for _, line, _, _ in cases])
    assert len(answers) == len(cases), (len(answers), len(cases))
    worst, failed = {}, []
    for (topic, line, expected, width), answer in zip(cases, answers):
        if answer.startswith("error"):
            failed.append(f"{topic}: {line}: {answer}")
            continue
        off = abs(float(answer) - expected)
        kept = worst.setdefault(topic, [0, -1.0, 0.0, 0.0, ""])
        kept[0] += 1
        if off / width > kept[1]:
            kept[1:] = [off / width, off, width, line]
        if off > width:
            failed.append(f"{topic}: {line}: skep {answer}, expected {expected}, off {off:.3g}, allowed {width:.3g}")

    gravities = [float(a) for a in ask(program, inverse)]
    points = [float(line.split()[1]) for line in inverse]
    def spline(target):
        i = next(k for k in range(1, len(points)) if gravities[k] >= target)
        return brentq(lambda p: float(ask(program, [f"sg {p:.12f}"])[0]) - target, points[i - 1], points[i])
    for target in (0.97, 0.995, 1.004, 1.05, 1.1, 1.2, 1.35):
        found = float(ask(program, [f"plato {target}"])[0])
        off = abs(found - spline(target))
        kept = worst.setdefault("extract by another root finder, scipy", [0, -1.0, 0.0, 0.0, ""])
        kept[0] += 1
        if off / 1e-6 > kept[1]:
            kept[1:] = [off / 1e-6, off, 1e-6, f"plato {target}"]
        if off > 1e-6:
            failed.append(f"plato {target}: off {off}")

    print(f"{'topic':<42} {'values':>7} {'largest off':>12} {'allowed':>10}  where")
    for topic, (count, _, off, width, line) in worst.items():
        print(f"{topic:<42} {count:>7} {off:>12.3g} {width:>10.3g}  {line}")
    total = sum(k[0] for k in worst.values())
    for text in failed[:20]:
        print("OFF", text)
    print(f"{total - len(failed)} passed, {len(failed)} failed")
    return 1 if failed or total < 1000 else 0


if __name__ == "__main__":
    sys.exit(main())
