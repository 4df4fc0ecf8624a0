//! The temperature coefficients of a label, and the cable of a panel.

use crate::check_file::{Check, relative};
use crate::common::{nominal, with_battery};
use stilldays::design::{Cable, Coefficients, cable_ohm};
use stilldays::plant::single_unit::{self, Label};
use stilldays::units::Uncertain;

fn label(l: &crate::check_file::Line<'_>) -> Label {
    Label {
        i_sc: l.number("isc"),
        v_oc: l.number("voc"),
        i_mp: l.number("imp"),
        v_mp: l.number("vmp"),
        cells: l.number("cells") as u32,
    }
}

#[test]
fn coefficients_of_a_label_hold() {
    let mut check = Check::open("computed/06m_temperature_coefficients.csv").part("power");
    let points = [
        ("p_1000_0", 1000.0, 0.0),
        ("p_1000_25", 1000.0, 25.0),
        ("p_1000_50", 1000.0, 50.0),
        ("p_1000_65", 1000.0, 65.0),
        ("p_200_10", 200.0, 10.0),
        ("p_200_40", 200.0, 40.0),
    ];
    let of = |l: &crate::check_file::Line<'_>| {
        let coefficients = ["alpha", "beta", "gamma"].map(|name| l.number(name));
        single_unit::by_coefficients(&label(l), l.number("ideality"), coefficients).expect("a diode")
    };
    check.compare(|l| {
        let (_, power_w) = of(&l);
        points
            .iter()
            .map(|(name, light, cell_c)| {
                ((*name).to_owned(), relative(power_w(*light, *cell_c), l.number(name)))
            })
            .collect()
    });
    check.report(1e-5, "of the value");
    let mut check = Check::open("computed/06m_temperature_coefficients.csv").part("change of a");
    check.compare(|l| vec![("dn".into(), of(&l).0 - l.number("dn"))]);
    check.report(1e-6, "per K");
}

#[test]
fn a_cable_takes_its_volts() {
    let mut check = Check::open("computed/06n_cable.csv");
    check.compare(|l| {
        let ohm = cable_ohm(l.number("x1"), l.number("x2"), l.number("x3"));
        vec![("drop".into(), ohm * l.number("x4") - l.number("value"))]
    });
    check.report(1e-9, "V");
}

#[test]
fn a_panel_behind_a_cable_gives_its_current_at_a_lower_voltage() {
    let x = Uncertain::exact;
    let mut design = with_battery();
    let bare = single_unit::panel_in_light(&nominal(&design).panel)(800.0, 20.0, 1.0);
    design.panel.cable = Cable { length_m: x(8.0), section_mm2: x(0.5), resistance_ohm: x(0.0) };
    let behind = single_unit::panel_in_light(&nominal(&design).panel)(800.0, 20.0, 1.0);
    let ohm = 2.0 * 8.0 * 0.0175 / 0.5;
    for volts in [2.0, 6.0, 8.0] {
        let amps = single_unit::current_at(&bare, volts);
        let there = single_unit::current_at(&behind, volts - ohm * amps);
        assert!((there - amps).abs() < 1e-9, "{volts} V: {amps} and {there} A");
    }
    // A measured resistance takes the place of length and section.
    design.panel.cable.resistance_ohm = x(ohm);
    design.panel.cable.length_m = x(99.0);
    let measured = single_unit::panel_in_light(&nominal(&design).panel)(800.0, 20.0, 1.0);
    assert_eq!(measured.r_s, behind.r_s);
}

#[test]
fn a_label_with_coefficients_loses_less_in_the_heat() {
    let mut design = with_battery();
    let power_w = |design: &stilldays::design::Design, cell_c: f64| {
        single_unit::panel_powers_w(&nominal(design).panel)(1000.0, cell_c)
    };
    let (plain, cold) = (power_w(&design, 65.0), power_w(&design, 25.0));
    design.panel.coefficients = Coefficients { given: true, ..Coefficients::default() };
    let (by_label, by_label_cold) = (power_w(&design, 65.0), power_w(&design, 25.0));
    assert!((by_label_cold.0 - cold.0).abs() < 1e-4 * cold.0);
    // -0.41 %/K over 40 K, and the bend beside it; the diode alone loses over 0.5 %/K.
    let lost = 1.0 - by_label.0 / by_label_cold.0;
    assert!((0.155..0.175).contains(&lost), "{lost}");
    assert!(plain.0 < 0.98 * by_label.0, "{} and {} W", plain.0, by_label.0);
    // Never stronger than the label.
    for cell_c in [-20.0, 0.0, 25.0, 50.0, 80.0] {
        let (gives, most) = power_w(&design, cell_c);
        assert!(gives <= most, "{cell_c} °C: {gives} of {most} W");
    }
}
