"""Densities of pure metals from mendeleev, heats to a temperature from chemicals.

stdin:  {"heats": [{"metal": "Al", "to_c": 720}, ...]}    ("heats" may be absent)
stdout: {"densities": {"Al": {"g_per_cm3": 2.7, "melts_c": 660.3}, ...},
         "heats": [{"metal", "to_c", "kj_per_kg", "solid_kj_per_kg",
                    "fusion_kj_per_kg", "liquid_kj_per_kg", "melts_c"}, ...]}

A heat starts at 25 C. The solid and the liquid part integrate the Shomate
coefficients that `chemicals` carries from the NIST WebBook, the fusion part is
its heat of fusion. Where `chemicals` has no coefficients for a part that is
needed, "kj_per_kg" is null and "why" says what is missing.
"""

import json
import sys
import warnings

import mendeleev
from chemicals import MW, Hfus, Tm
from chemicals import heat_capacity

METALS = {
    "Al": "7429-90-5",
    "Zn": "7440-66-6",
    "Cu": "7440-50-8",
    "Fe": "7439-89-6",
    "Sn": "7440-31-5",
    "Pb": "7439-92-1",
}
ZERO_C = 273.15
START_K = 25.0 + ZERO_C


def densities():
    found = {}
    for symbol, cas in METALS.items():
        with warnings.catch_warnings():
            # Tin has two solid forms; the density is the one of white tin.
            warnings.simplefilter("ignore")
            density = mendeleev.element(symbol).density
        found[symbol] = {"g_per_cm3": density, "melts_c": Tm(cas) - ZERO_C}
    return found


def heat(symbol, to_c):
    answer = {"metal": symbol, "to_c": to_c, "kj_per_kg": None}
    cas = METALS.get(symbol)
    if cas is None:
        return answer | {"why": f"{symbol} is not one of {', '.join(METALS)}"}
    melts_k = Tm(cas)
    end_k = to_c + ZERO_C
    answer["melts_c"] = melts_k - ZERO_C
    if end_k < START_K:
        return answer | {"why": "the end is below 25 C"}
    solid = heat_capacity.WebBook_Shomate_solids.get(cas)
    liquid = heat_capacity.WebBook_Shomate_liquids.get(cas)
    if solid is None:
        return answer | {"why": f"chemicals has no solid heat capacity for {symbol}"}
    if end_k > melts_k and liquid is None:
        return answer | {"why": f"chemicals has no liquid heat capacity for {symbol}"}
    # J/mol divided by g/mol is J/g, which is kJ/kg.
    per_gram = 1.0 / MW(cas)
    parts = {
        "solid_kj_per_kg": solid.force_calculate_integral(START_K, min(end_k, melts_k)) * per_gram,
        "fusion_kj_per_kg": 0.0,
        "liquid_kj_per_kg": 0.0,
    }
    if end_k > melts_k:
        parts["fusion_kj_per_kg"] = Hfus(cas) * per_gram
        parts["liquid_kj_per_kg"] = liquid.force_calculate_integral(melts_k, end_k) * per_gram
    return answer | parts | {"kj_per_kg": sum(parts.values())}


def main():
    text = sys.stdin.read().strip()
    asked = json.loads(text) if text else {}
    heat_capacity._load_Cp_data()
    heats = [heat(item["metal"], item["to_c"]) for item in asked.get("heats", [])]
    json.dump({"densities": densities(), "heats": heats}, sys.stdout)
    print()


if __name__ == "__main__":
    main()
