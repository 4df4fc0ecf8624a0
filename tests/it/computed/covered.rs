//! Strings with covered cells, against cells solved one by one.

use crate::check_file::{Check, Line};
use rand::RngExt;
use stilldays::plant::single_unit::{self, Cells, CoveredCells, SingleLane};
use stilldays::seed::{Purpose, stream};

/// Boltzmann's constant over the charge of an electron, V/K; band gap of silicon, eV, and its change, 1/K.
const K_V: f64 = 8.617_333_262e-5;
const GAP: (f64, f64) = (1.121, -0.000_267_7);

/// One cell at a light and a temperature.
struct Cell {
    isc_a: f64,
    ideality: f64,
    voc_v: f64,
    rs_ohm: f64,
    rsh_ohm: f64,
}

impl Cell {
    /// A string of so many, by the law of the check files: the shunt does not follow the light.
    fn string(&self, cells: u32, light_w_m2: f64, cell_c: f64) -> Cells<f64> {
        let n = f64::from(cells);
        let (t0, t) = (298.15, cell_c + 273.15);
        let gap = GAP.0 * (1.0 + GAP.1 * (t - t0));
        let i_o = self.isc_a / libm::expm1(self.voc_v / (self.ideality * K_V * t0));
        let moved = libm::pow(t / t0, 3.0) * libm::exp(GAP.0 / (K_V * t0) - gap / (K_V * t));
        Cells {
            i_l: self.isc_a * light_w_m2 / 1000.0 * (1.0 + 0.0005 * (cell_c - 25.0)),
            i_o: i_o * moved,
            per_a: 1.0 / (n * self.ideality * K_V * t),
            g_sh: 1.0 / (n * self.rsh_ohm),
            r_s: n * self.rs_ohm,
        }
    }
}

fn of_line(l: &Line<'_>) -> (Cells<f64>, CoveredCells) {
    // Avalanche is left out; its factor acts in forward direction as a better conducting shunt of the lit cells.
    let cell = Cell {
        isc_a: l.number("isc_A"),
        ideality: l.number("ideality"),
        voc_v: l.number("voc_V"),
        rs_ohm: l.number("rs_ohm"),
        rsh_ohm: l.number("rsh_ohm") / (1.0 + l.number("a_r")),
    };
    let cells = l.number("N") as u32;
    let string = cell.string(cells, l.number("G_Wm2"), l.number("Tc_C"));
    let cover = CoveredCells {
        cells,
        covered: l.number("n") as u32,
        share: l.number("s"),
        // At small voltages backward, too.
        leak_s: (1.0 + l.number("a_r")) / l.number("rsh_ohm"),
        bypass_diodes: 0,
    };
    (string, cover)
}

#[test]
fn strings_of_cells_solved_one_by_one() {
    let mut check = Check::open("computed/06i_covered_cells.csv").part("shunt alone");
    let errors = |l: &Line<'_>| {
        let (string, cover) = of_line(l);
        let volts = l.number("V");
        let clean = l.number("i_uncovered_A");
        let off = |bypass_diodes: u32, column: &str| {
            let (amps, agrees) = CoveredCells { bypass_diodes, ..cover }.current_at::<f64>(&string, volts);
            assert!(agrees, "line and question differ at {volts} V");
            (amps - l.number(column)).abs() / clean.max(1e-6)
        };
        vec![
            (
                "uncovered".into(),
                (single_unit::current_at(&string, volts).max(0.0) - clean).abs() / clean.max(1e-6),
            ),
            ("covered".into(), off(0, "i_covered_A")),
            ("two bypass diodes".into(), off(2, "i_bypass_A")),
        ]
    };
    check.compare(|l| if l.number("a_r") == 0.0 { errors(&l) } else { Vec::new() });
    check.report(1e-5, "of the current of the clean string");
    let mut check = Check::open("computed/06i_covered_cells.csv").part("avalanche left out");
    check.compare(|l| if l.number("a_r") == 0.0 { Vec::new() } else { errors(&l) });
    check.report(0.035, "of the current of the clean string");
}

#[test]
fn what_a_leaf_does() {
    let shares = |l: &Line<'_>| {
        let rsh_ohm = 10.0 / (l.number("lam") * 0.6);
        let light_w_m2 = l.number("G_Wm2");
        let cell_c = match light_w_m2 {
            1000.0 => 50.0,
            300.0 => 25.0,
            _ => 15.0,
        };
        let cell = Cell { isc_a: 0.6, ideality: 1.2, voc_v: 0.6, rs_ohm: 0.033, rsh_ohm: rsh_ohm / 1.1 };
        let string = cell.string(18, light_w_m2, cell_c);
        let cover = CoveredCells {
            cells: 18,
            covered: l.number("n") as u32,
            share: l.number("s"),
            leak_s: 1.1 / rsh_ohm,
            bypass_diodes: 0,
        };
        let current =
            |volts: f64| cover.current_at::<f64>(&string, volts).0 / single_unit::current_at(&string, volts);
        let clean = string.max_power(0.0);
        let power = |bypass_diodes: u32| {
            let best = CoveredCells { bypass_diodes, ..cover }.max_power::<f64>(&string, 0.0);
            best.0 * best.1 / (clean.0 * clean.1)
        };
        [
            current(6.4) - l.number("i_share_6.4V"),
            current(7.2) - l.number("i_share_7.2V"),
            power(0) - l.number("pmax_share_no_bypass"),
            power(2) - l.number("pmax_share_two_bypass"),
        ]
    };
    let mut check = Check::open("computed/06j_leaf.csv").part("current");
    check.compare(|l| shares(&l)[..2].iter().map(|off| ("current".into(), *off)).collect());
    // The avalanche that is left out makes the darkest cells leak up to a sixth more.
    check.report(0.02, "of the clean string");
    // The best voltage without bypass may be so low that a dark cell meets some 8 V, where the avalanche that is left out begins to act.
    let mut check = Check::open("computed/06j_leaf.csv").part("power");
    check.compare(|l| shares(&l)[2..].iter().map(|off| ("power".into(), *off)).collect());
    check.report(0.03, "of the clean string");
}

/// Voltage of a cell's diode at a current, by halving.
fn cell_v(i_l: f64, string: &Cells<f64>, (cells, g_sh): (f64, f64), amps: f64) -> f64 {
    let a = 1.0 / (string.per_a * cells);
    let (mut low, mut high) = (-1e7, 2.0);
    for _ in 0..200 {
        let v = 0.5 * (low + high);
        let gives = i_l - string.i_o * libm::expm1(v / a) - v * g_sh;
        (low, high) = if gives > amps { (v, high) } else { (low, v) };
    }
    low
}

/// Terminal voltage of a string at a current, every kind of cell by halving; the group of the covered ones behind a diode of 0.4 V.
fn string_v(string: &Cells<f64>, cover: &CoveredCells, amps: f64) -> f64 {
    let n = f64::from(cover.cells);
    let covered = f64::from(cover.covered);
    let lit = cell_v(string.i_l, string, (n, string.g_sh * n), amps);
    // Beyond its light current a cell is driven backward, through its dark shunt; forward it leaks no less than a lit one.
    let dim_l = string.i_l * (1.0 - cover.share);
    let g_sh = if amps > dim_l { cover.leak_s } else { (string.g_sh * n).max(cover.leak_s) };
    let dim = cell_v(dim_l, string, (n, g_sh), amps);
    let r_s = string.r_s / n;
    let all = (n - covered) * lit + covered * dim - amps * string.r_s;
    if cover.bypass_diodes == 0 {
        return all;
    }
    let diodes = f64::from(cover.bypass_diodes);
    let groups = libm::ceil(covered * diodes / n);
    all.max((n - groups * n / diodes) * (lit - amps * r_s) - 0.4 * groups)
}

/// Current on a line, by halving.
fn exact_a(string: &Cells<f64>, cover: &CoveredCells, open_v: f64, ohm: f64) -> f64 {
    let (mut low, mut high) = (0.0, string.i_l);
    for _ in 0..60 {
        let amps = 0.5 * (low + high);
        (low, high) =
            if string_v(string, cover, amps) > open_v + ohm * amps { (amps, high) } else { (low, amps) };
    }
    low
}

/// Largest errors over drawn strings, as shares of the light current: on a line, at a voltage, of the largest power.
fn drawn<V: SingleLane>() -> [f64; 3] {
    let mut rng = stream(11, Purpose::Part("covered cells"), 0, 0);
    let mut pick = |low: f64, high: f64| low + (high - low) * rng.random::<f64>();
    let mut worst = [0.0_f64; 3];
    for k in 0..400 {
        let cells = [10, 12, 18, 36][k % 4];
        let cell = Cell {
            isc_a: libm::exp(pick(-2.3, 1.1)),
            ideality: pick(1.0, 1.5),
            voc_v: pick(0.54, 0.66),
            rs_ohm: pick(0.001, 0.06),
            rsh_ohm: libm::exp(pick(2.0, 8.0)),
        };
        let string = cell.string(cells, libm::exp(pick(1.5, 7.0)), pick(-20.0, 65.0));
        let cover = CoveredCells {
            cells,
            covered: 1 + k as u32 % (cells / 2),
            share: if k % 10 == 0 { 1.0 } else { pick(0.01, 1.0) },
            leak_s: libm::exp(pick(-4.6, -0.7)) * cell.isc_a / 10.0,
            bypass_diodes: [0, 0, 2, 3][k / 4 % 4],
        };
        let (open_v, ohm) = (pick(0.0, 0.55) * f64::from(cells), libm::exp(pick(-5.0, 3.0)));
        let exact = exact_a(&string, &cover, open_v, ohm);
        let on_line = cover.current_on::<V>(&string, open_v, ohm);
        worst[0] = worst[0].max((on_line - exact).abs() / string.i_l);
        let (at_volts, agrees) = cover.current_at::<V>(&string, open_v);
        assert!(
            agrees,
            "case {k}: {at_volts} A, {} A at {open_v} V: {cover:?} {string:?}",
            exact_a(&string, &cover, open_v, 0.0)
        );
        worst[1] = worst[1].max((at_volts - exact_a(&string, &cover, open_v, 0.0)).abs() / string.i_l);
        let clean = single_unit::current_at(&string, open_v).max(0.0);
        assert!(at_volts <= clean + 2e-5 * string.i_l, "case {k}: {at_volts} A covered, {clean} A clean");
        // No voltage of a fine grid gives more power.
        let drop_v = pick(0.0, 0.5);
        let (v, i) = cover.max_power::<V>(&string, drop_v);
        let found_w = (v - drop_v) * i;
        let scale = string.i_l * f64::from(cells) * 0.6;
        let grid_w = (1..60)
            .map(|step| string.i_l * f64::from(step) / 60.0)
            .map(|amps| (string_v(&string, &cover, amps) - drop_v) * amps)
            .fold(0.0, f64::max);
        worst[2] = worst[2].max((grid_w - found_w) / scale);
        let gives_w = i * (string_v(&string, &cover, i) - drop_v);
        worst[2] = worst[2].max((gives_w - found_w).abs() / scale);
    }
    println!(
        "covered cells: off by {:.1e} on a line, {:.1e} at a voltage, {:.1e} of power",
        worst[0], worst[1], worst[2]
    );
    worst
}

#[test]
fn drawn_strings_in_double_and_in_single_precision() {
    let double = drawn::<f64>();
    assert!(double[0] < 1e-6 && double[1] < 1e-6 && double[2] < 1e-5, "{double:?}");
    let single = drawn::<f32>();
    assert!(single[0] < 1e-4 && single[1] < 1e-4 && single[2] < 1e-4, "{single:?}");
}

#[test]
fn more_cover_gives_less_and_more_leak_gives_more() {
    let cell = Cell { isc_a: 0.6, ideality: 1.2, voc_v: 0.6, rs_ohm: 0.03, rsh_ohm: 1000.0 };
    let string = cell.string(18, 400.0, 35.0);
    let amps = |covered: u32, share: f64, leak: f64| {
        let cover = CoveredCells { cells: 18, covered, share, leak_s: leak * 0.06, bypass_diodes: 0 };
        cover.current_at::<f64>(&string, 6.4).0
    };
    let by_share: Vec<f64> = (1..=10).map(|s| amps(1, f64::from(s) / 10.0, 0.1)).collect();
    assert!(by_share.windows(2).all(|w| w[1] < w[0]), "{by_share:?}");
    let by_cells: Vec<f64> = (1..9).map(|n| amps(n, 0.8, 0.1)).collect();
    assert!(by_cells.windows(2).all(|w| w[1] < w[0]), "{by_cells:?}");
    let by_leak: Vec<f64> = [0.02, 0.05, 0.1, 0.3].iter().map(|l| amps(1, 0.9, *l)).collect();
    assert!(by_leak.windows(2).all(|w| w[1] > w[0]), "{by_leak:?}");
}
