//! Covered cells in a day of the plant.

use crate::common::*;
use stilldays::design::*;
use stilldays::lanes::Isa;
use stilldays::plant::Cause;
use stilldays::units::Uncertain;

fn covered(mut design: Design, cells: f64, share: f64) -> Design {
    let x = Uncertain::exact;
    design.panel.cover = Cover { cells: x(cells), share: x(share), leak: x(0.1), bypass_diodes: 0 };
    design
}

fn fixed(mut design: Design) -> Design {
    design.mount.kind = MountKind::Fixed;
    design
}

fn accounts_close(run: &Run) {
    let out = &run.out;
    let found = out.jet_min.0[0] + out.cause_min.iter().map(|c| c.0[0]).sum::<f64>();
    let wanted = run.scene.days[run.index - 1].wanted_min();
    assert!((found - wanted).abs() < 1e-3, "{found} of {wanted} min");
    assert!(out.residual_wh.0[0].abs() < 1e-3, "{} Wh", out.residual_wh.0[0]);
    assert_eq!(out.over_label_wh.0[0], 0.0);
}

fn day_of(design: &Design, day: Day) -> Run {
    let mut run = Run::new(design);
    run.days(2, day);
    accounts_close(&run);
    run
}

#[test]
fn a_covered_cell_stops_the_jet_of_a_panel_alone_and_is_named() {
    let clean = day_of(&fixed(direct()), Day::Clear);
    let one = day_of(&covered(fixed(direct()), 1.0, 0.95), Day::Clear);
    let lost = clean.out.jet_min.0[0] - one.out.jet_min.0[0];
    let named = one.out.cause_min[Cause::Covered as usize].0[0];
    assert!(lost > 100.0, "{lost} min lost");
    // Every lost minute is the cover's: clean, the panel carried the jet.
    assert!((named - lost).abs() <= 0.1 * lost, "{named} of {lost} min");
    assert_eq!(clean.out.cause_min[Cause::Covered as usize].0[0], 0.0);
}

#[test]
fn a_covered_cell_takes_charge_from_a_battery_however_it_is_charged() {
    for charging in [Charging::Pwm, Charging::Direct, Charging::Mppt] {
        let mut design = fixed(with_battery());
        design.electronics.charging = charging;
        let panel_wh = |d: &Design| day_of(d, Day::Overcast(0.4)).out.flow_wh[0].0[0];
        let (clean, one) = (panel_wh(&design), panel_wh(&covered(design.clone(), 1.0, 0.95)));
        assert!(one < 0.7 * clean && one > 0.05 * clean, "{charging:?}: {one} of {clean} Wh");
    }
}

#[test]
fn a_bypass_diode_saves_what_the_others_give() {
    let mut design = covered(fixed(with_battery()), 1.0, 0.95);
    design.electronics.charging = Charging::Mppt;
    // A tracking charger for a battery of one cell: half of the string is above its voltage.
    let none = day_of(&design, Day::Overcast(0.5)).out.flow_wh[0].0[0];
    design.panel.cover.bypass_diodes = 2;
    let two = day_of(&design, Day::Overcast(0.5)).out.flow_wh[0].0[0];
    assert!(two > 1.1 * none, "{two} and {none} Wh");
}

#[test]
fn cells_that_lose_no_light_change_nothing() {
    for design in [fixed(direct()), with_battery()] {
        for day in [Day::Clear, Day::Patchy] {
            let (a, b) = (day_of(&design, day).out, day_of(&covered(design.clone(), 3.0, 0.0), day).out);
            assert_eq!(format!("{a:?}"), format!("{b:?}"));
        }
    }
}

#[test]
fn every_instruction_set_gives_the_same_bits() {
    for design in [direct(), with_battery()] {
        let mut design = covered(design, 2.0, 0.7);
        for bypass_diodes in [0, 2] {
            design.panel.cover.bypass_diodes = bypass_diodes;
            let of = |isa: Isa| format!("{:?}", Run::new(&design).days_on(isa, 2, Day::Patchy));
            assert_eq!(of(Isa::PLAIN), of(Isa::detect()));
        }
    }
}
