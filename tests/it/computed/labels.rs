//! What a panel's label can say, and that no panel is stronger than its label.

use crate::check_file::{Check, relative};
use std::path::Path;
use stilldays::design::{CellTechnology, Design, Ideal, Panel, parse};
use stilldays::plant::single_unit::panel_powers_w;
use stilldays::units::{Spread, Uncertain};

#[test]
fn fill_factors_of_ideal_cells() {
    let mut check = Check::open("computed/06g_ideal_fill_factor.csv");
    check.compare(|l| {
        let ideal = Ideal::new(l.number("voc_per_cell_V"), l.number("ideality"));
        vec![
            ("fill factor".into(), relative(ideal.fill_factor, l.number("ff_exact"))),
            ("voltage".into(), relative(ideal.max_power_v, l.number("vmp_over_voc"))),
            ("current".into(), relative(ideal.max_power_a, l.number("imp_over_isc"))),
        ]
    });
    check.report(1e-6, "of the value");
}

/// A design with this panel.
fn design(panel: &str) -> Result<Design, String> {
    let text = format!(
        "[site]\nweather = \"a.csv\"\n[panel]\n{panel}\n[pump]\nbench = [[\"6 V\", \"290 mA\", \"430 mm\"]]\n"
    );
    parse(Path::new("label.toml"), text).map(|file| file.design).map_err(|p| p.to_string())
}

#[test]
fn labels_that_can_be_are_accepted_and_others_refused() {
    let mut check = Check::open("computed/06h_labels.csv");
    check.compare(|l| {
        let technology = match l.text("label") {
            name if name.starts_with("amorphous") => "amorphous",
            name if name.starts_with("CIGS") => "CIGS",
            _ => "crystalline",
        };
        let panel = format!(
            "technology = \"{technology}\"\nrated_power = \"{} W\"\nopen_circuit_voltage = \"{} V\"\n\
             short_circuit_current = \"{} A\"\nmax_power_voltage = \"{} V\"\ncells = {}",
            l.text("p"),
            l.text("voc"),
            l.text("isc"),
            l.text("vmp"),
            l.text("cells")
        );
        let (accepted, read) = (l.text("verdict") == "accepted", design(&panel));
        if let (false, Err(why)) = (accepted, &read) {
            assert!(why.contains("label.toml:"), "{}: {why}", l.text("label"));
        }
        vec![(l.text("label").into(), f64::from(u8::from(accepted != read.is_ok())))]
    });
    check.report(0.0, "labels");
}

/// Numbers of 0 to 1, the same each time.
fn numbers(seed: u64) -> impl FnMut() -> f64 {
    let mut state = seed;
    move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// Anything between two values.
fn evenly(lo: f64, hi: f64) -> Uncertain {
    Uncertain { nominal: 0.5 * (lo + hi), spread: Spread::Rectangular { lo, hi } }
}

/// A drawn label with ranges: fill factors, voltages and currents of all that is accepted, and beyond.
fn label(base: &Design, pick: &mut impl FnMut() -> f64) -> Panel<Uncertain> {
    let mut between = |lo: f64, hi: f64| lo + (hi - lo) * pick();
    let (technology, cell_v, fill_factor) = match (between(0.0, 4.0)) as u8 {
        0 => (CellTechnology::Cigs, between(0.45, 0.76), between(0.45, 0.82)),
        1 => (CellTechnology::Amorphous, between(0.75, 0.95), between(0.40, 0.78)),
        _ => (CellTechnology::Crystalline, between(0.50, 0.76), between(0.50, 0.85)),
    };
    let cells = (between(1.0, 73.0)) as u32;
    let open_v = cell_v * f64::from(cells);
    let power_w = libm::exp(between(libm::log(0.1), libm::log(300.0)));
    let mut uncertain = |nominal: f64, spread: f64| match (between(0.0, 3.0)) as u8 {
        0 => Uncertain::exact(nominal),
        1 => evenly(nominal * (1.0 - spread), nominal),
        _ => evenly(nominal * (1.0 - spread), nominal * (1.0 + 0.5 * spread)),
    };
    let share = uncertain(1.0, 0.2).nominal;
    Panel {
        technology,
        rated_power_w: uncertain(power_w, 0.6),
        open_circuit_voltage_v: uncertain(open_v, 0.1),
        short_circuit_current_a: uncertain(power_w / (open_v * fill_factor), 0.3),
        max_power_voltage_v: Uncertain::exact(open_v * (0.6 + 0.35 * share.fract().max(pick()))),
        cells,
        ideality: Uncertain::exact(1.0 + 0.5 * pick()),
        low_light: evenly(0.0, 1.0),
        ..base.panel.clone()
    }
}

#[test]
fn no_drawn_panel_is_stronger_than_its_label() {
    let base = design("rated_power = \"10 W\"\nopen_circuit_voltage = \"10.8 V\"").expect("a design");
    let mut pick = numbers(13);
    let (mut strongest, mut weakest) = (0.0_f64, f64::INFINITY);
    for _ in 0..20_000 {
        let design = Design { panel: label(&base, &mut pick), ..base.clone() };
        let unit = design.draw(&mut |_| pick()).panel;
        let powers_w = panel_powers_w(&unit);
        let (rated_w, _) = powers_w(1000.0, 25.0);
        weakest = weakest.min(rated_w / unit.rated_power_w);
        assert!((rated_w / unit.rated_power_w - 1.0).abs() < 2e-3, "{rated_w} W: {unit:?}");
        for light in [20.0, 100.0, 300.0, 600.0, 900.0, 1000.0, 1250.0] {
            let cell_c = -20.0 + 95.0 * pick();
            let (power_w, label_w) = powers_w(light, cell_c);
            strongest = strongest.max(power_w / label_w);
            assert!(power_w <= label_w, "{light} W/m², {cell_c} °C: {power_w} W of {label_w} W: {unit:?}");
        }
    }
    println!(
        "20,000 labels: at most {strongest:.4} of what is let pass, at least {weakest:.4} of the rated power"
    );
}

#[test]
fn a_range_of_power_is_drawn_as_one_panel_after_another_that_can_be() {
    let label = "open_circuit_voltage = \"10.8 V\"\nshort_circuit_current = \"0.625 A\"\n";
    let design = design(&format!("rated_power = \"2 to 5 W\"\n{label}")).expect("an honest range");
    let mut before = 0.0;
    for k in 0..=20 {
        let unit = design.draw(&mut |_| f64::from(k) / 20.0).panel;
        let fill_factor = unit.rated_power_w / (unit.open_circuit_voltage_v * unit.short_circuit_current_a);
        assert!((0.69..=0.81).contains(&fill_factor), "{unit:?}");
        // More power gives more in any light.
        let (power_w, _) = panel_powers_w(&unit)(300.0, 30.0);
        assert!(power_w > before);
        before = power_w;
    }
    // Not the nominal one alone either.
    let nominal = design.draw(&mut |_| 0.5).panel;
    assert!((panel_powers_w(&nominal)(1000.0, 25.0).0 - 3.5).abs() < 0.01);
}

#[test]
fn less_rated_power_never_makes_a_stronger_panel() {
    let mut before = 0.0;
    for k in 0..=24 {
        let watts = 3.8 + 0.07 * f64::from(k);
        let panel = format!(
            "rated_power = \"{watts} W\"\nopen_circuit_voltage = \"10.8 V\"\nshort_circuit_current = \"0.625 A\""
        );
        let unit = design(&panel).unwrap_or_else(|why| panic!("{why}")).draw(&mut |_| 0.5).panel;
        let (power_w, _) = panel_powers_w(&unit)(1000.0, 25.0);
        assert!((power_w - watts).abs() < 0.01, "{watts} W gives {power_w}");
        assert!(power_w > before);
        before = power_w;
    }
}
