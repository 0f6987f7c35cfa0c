"""The second soil model against published cases, analytic results and another solver (SciPy)."""

from math import inf, sqrt

import numpy as np
import pytest
from potreeve_tools.world import conductivity
from potreeve_tools.world.richards import Edges, Hydraulics, step
from potreeve_tools.world.substrate import Retention
from potreeve_tools.world.substrates import BARK_MIX, COIR, PEAT_MIX
from scipy.integrate import quad, solve_ivp
from scipy.sparse import diags

# Celia, Bouloutas, Zarba 1990, Water Resour. Res. 26(7):1483: van Genuchten parameters of their field soil, heads of
# -1000 cm at first and below, -75 cm above, a column of 100 cm, one day.
CELIA = Retention(0.102, 0.368, 0.0335, 2.0)
CELIA_KS_CM_S = 0.00922
FIRST_CM, ABOVE_CM, DEEP_CM, DAY_S = -1000.0, -75.0, 100.0, 86_400.0

LOAM = Retention(0.078, 0.43, 0.036, 1.56)  # Carsel & Parrish 1988, Table 2
LOAM_KS_CM_S = 24.96 / 86_400.0


def run(soil, h, dz, end_s, edges, most_s=60.0):
    """(theta, h, came in, went out) after end_s; steps as short as convergence asks for."""
    theta = [soil.content(x)[0] for x in h]
    nothing = [0.0] * len(h)
    t, dt, came, went = 0.0, min(0.1, most_s), 0.0, 0.0
    while t < end_s - 1e-6:
        dt = min(dt, end_s - t)
        found = step(soil, theta, h, dt, dz, nothing, edges)
        if found is None:
            dt /= 2.0
            assert dt > 1e-9
            continue
        theta, h, top, bottom, iterations = found
        came, went, t = came + top, went + bottom, t + dt
        dt = min(most_s, dt * 1.3) if iterations < 6 else dt * 0.8
    return theta, h, came, went


def mualem(retention, ks, h, power=0.5):
    """K of numpy heads, written anew from van Genuchten 1980 Eq 9."""
    m = 1.0 - 1.0 / retention.n
    x = (retention.alpha_per_cm * np.maximum(-h, 0.0)) ** retention.n
    fill = (1.0 + x) ** -m
    return ks * fill**power * (1.0 - (x / (1.0 + x)) ** m) ** 2


def by_scipy(nodes):
    """Celia's case by the method of lines and SciPy's BDF. Returns (depths, heads) after a day."""
    dz = DEEP_CM / nodes
    m = 1.0 - 1.0 / CELIA.n

    def slope(h):
        x = (-CELIA.alpha_per_cm * h) ** CELIA.n
        return (CELIA.theta_s - CELIA.theta_r) * m * CELIA.n * x / ((1.0 + x) ** (m + 1.0) * -h)

    def moves(_, h):
        full = np.concatenate(([ABOVE_CM], h, [FIRST_CM]))
        gaps = np.full(nodes + 1, dz)
        gaps[0] = gaps[-1] = dz / 2.0
        k = mualem(CELIA, CELIA_KS_CM_S, full)
        q = 0.5 * (k[1:] + k[:-1]) * ((full[:-1] - full[1:]) / gaps + 1.0)
        return (q[:-1] - q[1:]) / dz / slope(h)

    near = diags([1.0, 1.0, 1.0], [-1, 0, 1], shape=(nodes, nodes))
    solved = solve_ivp(moves, (0.0, DAY_S), np.full(nodes, FIRST_CM), "BDF", rtol=1e-5, jac_sparsity=near)
    return (np.arange(nodes) + 0.5) * dz, solved.y[:, -1]


@pytest.fixture(scope="module")
def reference():
    return by_scipy(400)


@pytest.mark.parametrize("nodes", [40, 100])
def test_infiltration_of_celia_1990(nodes, reference):
    soil = Hydraulics(CELIA, CELIA_KS_CM_S)
    dz = DEEP_CM / nodes
    first = nodes * dz * soil.content(FIRST_CM)[0]
    theta, h, came, went = run(soil, [FIRST_CM] * nodes, dz, DAY_S, Edges(above_cm=ABOVE_CM, below_cm=FIRST_CM))
    assert sum(theta) * dz - first == pytest.approx(came - went, abs=1e-10)  # the scheme's point: no mass error
    depths, heads = reference
    contents = np.array([CELIA.theta(-x) for x in heads])
    assert came - went == pytest.approx(np.sum(contents - CELIA.theta(-FIRST_CM)) * DEEP_CM / len(depths), rel=0.01)
    half = 0.5 * (CELIA.theta(-ABOVE_CM) + CELIA.theta(-FIRST_CM))
    by_us = np.interp(-half, [-x for x in theta], [(i + 0.5) * dz for i in range(nodes)])
    assert by_us == pytest.approx(np.interp(-half, -contents, depths), abs=0.5 * dz)


def sorptivity(retention, ks, dry_cm):
    """Parlange 1975, Soil Sci. 119:158: S^2 is the integral of (theta_s + theta - 2 theta_i) D, good to a per cent."""
    dry = retention.theta(-dry_cm)

    def part(log_h):
        suction = np.exp(log_h)
        k = float(mualem(retention, ks, np.array([-suction]))[0])
        return (retention.theta_s + retention.theta(suction) - 2.0 * dry) * k * suction

    low = quad(part, np.log(1e-6), np.log(1.0), limit=200)[0]
    return sqrt(low + quad(part, np.log(1.0), np.log(-dry_cm), limit=200)[0])


def test_early_infiltration_goes_by_sorptivity():
    """Philip 1957, Soil Sci. 84:257: I = S sqrt(t) + A t, A from a third to two thirds of Ks."""
    soil = Hydraulics(LOAM, LOAM_KS_CM_S)
    s = sorptivity(LOAM, LOAM_KS_CM_S, -500.0)
    for end_s in (600.0, 3600.0):
        _, _, came, _ = run(soil, [-500.0] * 200, 0.1, end_s, Edges(above_cm=0.0, below_cm=-500.0), most_s=end_s / 400)
        least, most = (s * sqrt(end_s) + share * LOAM_KS_CM_S * end_s for share in (1 / 3, 2 / 3))
        assert 0.97 * least <= came <= 1.03 * most


def test_coarse_nodes_let_water_in_as_fine_ones_do():
    """A pot has nodes of a centimetre or two; the mean K between them must not hold water up or wave it through."""
    soil = Hydraulics(LOAM, LOAM_KS_CM_S)
    fine, coarse = (
        run(soil, [-300.0] * n, 20.0 / n, 7200.0, Edges(above_cm=0.0, below_cm=-300.0), 20.0)[2] for n in (200, 16)
    )
    assert coarse == pytest.approx(fine, rel=0.1)


def test_a_steady_drip_ends_at_the_head_that_carries_it():
    """Under a steady flux the upper part of a tall column comes to the head at which K equals the flux."""
    soil = Hydraulics(LOAM, LOAM_KS_CM_S)
    flux = 0.1 * LOAM_KS_CM_S
    dz, dt = 2.0, 600.0
    h = [-100.0] * 150
    theta = [soil.content(x)[0] for x in h]
    for _ in range(int(40 * DAY_S / dt)):
        theta, h, came, went, _ = step(soil, theta, h, dt, dz, [0.0] * 150, Edges(pond_cm=flux * dt))
    assert came == pytest.approx(flux * dt, rel=1e-6) and went == pytest.approx(flux * dt, rel=1e-3)
    assert float(mualem(LOAM, LOAM_KS_CM_S, np.array([h[10]]))[0]) == pytest.approx(flux, rel=0.01)


def test_the_table_is_the_formula():
    for mix in (PEAT_MIX, COIR, BARK_MIX):
        known = conductivity.CONDUCTIVITY[mix.name]
        ks, power = known.ks_cm_d.value / 86_400.0, known.power.value
        soil = Hydraulics(mix.retention, ks, power)
        for suction in (0.01, 0.3, 2.0, 10.0, 77.0, 1000.0):
            k, phi = soil.flow(-suction)
            assert k == pytest.approx(float(mualem(mix.retention, ks, np.array([-suction]), power)[0]), rel=2e-3)
            integral = quad(lambda x: float(mualem(mix.retention, ks, np.array([-x]), power)[0]), suction, 30 * suction)
            assert phi - soil.flow(-30 * suction)[1] == pytest.approx(integral[0], rel=2e-3)


def cm_d(mix, theta):
    known = conductivity.CONDUCTIVITY[mix.name]
    return known.ks_cm_d.value * conductivity.relative(mix.retention, theta, known.power.value)


def test_bark_conducts_as_measured():
    """O'Meara, Chappell, van Iersel 2014, HortScience 49(4):493 (abstract)."""
    assert cm_d(BARK_MIX, 0.38) == pytest.approx(0.115, rel=1e-6)
    assert cm_d(BARK_MIX, 0.17) == pytest.approx(0.000069, rel=1e-6)


@pytest.mark.parametrize("mix", [PEAT_MIX, COIR])
def test_conductivity_falls_sharply_between_two_waterings(mix):
    """Londra 2010, HortScience 45(7):1106 (abstract): a sharp decrease within 0 to -70 cm; a hundredfold is ours."""
    wet, dry = (cm_d(mix, mix.retention.theta(x)) for x in (1.0, 70.0))
    assert dry < wet / 100.0


def test_nothing_rises_without_a_level_below():
    soil = Hydraulics(LOAM, LOAM_KS_CM_S)
    _, _, came, went = run(soil, [-400.0] * 10, 1.0, 3600.0, Edges())
    assert came == 0.0 and went == 0.0 and Edges().rise_most_cm == inf
