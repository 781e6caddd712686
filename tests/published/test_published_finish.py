"""Paint classes and the air against published tables."""

import json
from pathlib import Path

import pint
import pytest

from diagnose.bench import painting, ventilation

VALUES = json.loads(Path(__file__).with_name("values.json").read_text(encoding="utf-8"))


def values(name):
    return VALUES[name]["values"]


@pytest.mark.parametrize(("lost", "grade"), values("astm_cross_cut"))
def test_cross_cut_astm(lost, grade):
    """Method B at its edges (source: astm_d3359)."""
    assert painting.cross_cut_astm(lost) == grade


@pytest.mark.parametrize(("lost", "grade"), values("iso_cross_cut"))
def test_cross_cut_iso(lost, grade):
    """The other scale at its edges (source: iso_2409, from memory)."""
    assert painting.cross_cut_iso(lost) == grade


@pytest.mark.parametrize("lost", [0, 0.5, 3, 7, 12, 20, 30, 40, 60, 70, 100])
def test_the_two_scales_run_in_opposite_directions(lost):
    """Away from shared edges the one class is five less the other's digit."""
    assert painting.cross_cut_iso(lost) == 5 - int(painting.cross_cut_astm(lost)[0])


@pytest.mark.parametrize(
    ("table", "removed"), [("purge_min_99", 0.99), ("purge_min_999", 0.999), ("purge_min_90", 0.90)]
)
def test_purge_times(table, removed):
    """Printed tables of minutes by air changes, to a minute (sources: cdc_2003_air_changes, mmwr_1994_air_changes)."""
    for changes, minutes in values(table).items():
        assert ventilation.purge_time(float(changes), removed) / 60 == pytest.approx(minutes, abs=1)


@pytest.mark.parametrize(("name", "mg"), values("ppm_to_mg_m3").items())
def test_ceilings_in_ppm_and_in_mg(name, mg):
    """0.02 ppm x M / 24.45, by the unit library: the ceilings listed in mg/m³ are those in p.p.m., rounded down."""
    substance, ppm = name.split("_")
    ureg = pint.UnitRegistry()
    moles = (101325 * ureg.pascal) / (ureg.molar_gas_constant * 298.15 * ureg.kelvin)
    grams = {"MDI": 250.25, "TDI": 174.16}[substance] * ureg.gram / ureg.mol
    assert (float(ppm) * 1e-6 * moles * grams).to("mg/m^3").magnitude == pytest.approx(mg, rel=1e-3)
    ceilings = [limit for limit in ventilation.limits_for(substance) if limit.note.startswith(f"{ppm} ppm")]
    assert ceilings
    assert all(0.95 * mg < limit.mg_m3 <= mg for limit in ceilings)


def test_printed_limits():
    """The limits read in print stand in the table, and the ceiling is not called a mean."""
    for substance, rows in values("limits_mg_m3").items():
        ours = {f"{limit.body} {limit.kind}": limit.mg_m3 for limit in ventilation.limits_for(substance)}
        for name, mg in rows.items():
            assert ours[name] == mg
    assert not any(limit.body == "OSHA" and "mean" in limit.kind for limit in ventilation.LIMITS)


@pytest.mark.parametrize(("mixing", "flow"), values("dilution_m3_min").items())
def test_dilution(mixing, flow):
    """1 mg/min held at 0.05 mg/m³ takes 20 m³/min and up: dilution alone is no control."""
    assert ventilation.dilution_flow(1e-6 / 60, 0.05e-6, float(mixing)) * 60 == pytest.approx(flow, rel=1e-9)
