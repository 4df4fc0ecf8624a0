//! Ageing of batteries against what was measured or printed, for each chemistry.

use crate::check_file::Check;
use crate::computed::cycles::battery;
use stilldays::design::Chemistry;
use stilldays::plant::single_unit::shelf_loss;
use stilldays::tally::CycleLife;

/// Years to 80 % at 25 °C and half charge by the constants of the law as printed: 1.2571e-5 /s^½ times 0.60225 times the root of the time.
fn printed_life_y() -> f64 {
    let per_root_s = 1.2571e-5 * 0.60225;
    0.2 / per_root_s * (0.2 / per_root_s) / (365.25 * 86_400.0)
}

#[test]
fn iron_phosphate_on_the_shelf() {
    let name = "published/07l_lfp_shelf_measured.csv";
    let points = |life_y: f64| {
        move |row: crate::check_file::Line<'_>| {
            let [celsius, soc, days] = ["temp_c", "soc", "days"].map(|c| row.number(c));
            let loss = 100.0 * shelf_loss(Chemistry::LithiumIronPhosphate, (celsius, soc), days, life_y);
            vec![(format!("{celsius} degC, {soc}, {days} d"), loss - row.number("loss_pct"))]
        }
    };
    Check::open(name).part("law as printed").compare(points(printed_life_y())).report(2.0, "points");
    // The default life is that of packs of unknown make: it errs to the safe side.
    let usual = battery("lithium iron phosphate", "6.4 V").calendar_life_y.nominal;
    Check::open(name).part("default life").compare(points(usual)).report(10.0, "points");
}

#[test]
fn lithium_ion_on_the_shelf() {
    let name = "published/07m_lithium_ion_shelf.csv";
    let life = battery("lithium ion", "7.4 V").calendar_life_y;
    let loss = |row: &crate::check_file::Line<'_>, life_y: f64| {
        let [celsius, soc, days] = ["temp_c", "soc", "days"].map(|c| row.number(c));
        100.0 * shelf_loss(Chemistry::LithiumIon, (celsius, soc), days, life_y)
    };
    let points = |full: bool, life_y: f64| {
        move |row: crate::check_file::Line<'_>| match (row.number("soc") == 1.0) == full {
            true => vec![(row.text("temp_c").to_owned(), loss(&row, life_y) - row.number("loss_pct"))],
            false => Vec::new(),
        }
    };
    Check::open(name).part("at 40 % charge").compare(points(false, life.nominal)).report(8.0, "points");
    Check::open(name).part("full").compare(points(true, life.nominal)).report(20.0, "points");
    // The range of the default reaches most of the way: cells of that time lost more, above all when full.
    let worst = |row: &crate::check_file::Line<'_>| loss(row, life.lowest());
    let lines = Check::open(name);
    let within = lines.lines().iter().filter(|row| worst(row) >= 0.5 * row.number("loss_pct")).count();
    assert!(within >= 5, "{within}");
}

#[test]
fn sealed_lead_acid_on_float() {
    let life = battery("lead-acid", "6 V").calendar_life_y;
    // Years until a fifth is gone, at a temperature.
    let years = |life_y: f64, celsius: f64| {
        let a_year = shelf_loss(Chemistry::LeadAcid, (celsius, 1.0), 365.25, life_y);
        0.2 / a_year
    };
    Check::open("published/07n_lead_acid_class.csv")
        .compare(|row| {
            let celsius = row.number("temp_c");
            vec![
                ("shortest".to_owned(), years(life.lowest(), celsius) - row.number("shortest_years")),
                ("longest".to_owned(), years(life.highest(), celsius) - row.number("longest_years")),
            ]
        })
        .report(0.1, "years");
}

#[test]
fn nickel_cells_in_the_endurance_test() {
    let b = battery("nickel-metal hydride", "6 V");
    let life =
        CycleLife { at_full_depth: b.cycles_at_full_depth.nominal, exponent: b.cycle_exponent.nominal };
    Check::open("published/07o_nickel_endurance.csv")
        .compare(|row| {
            let cycles = 1.0 / life.used(row.number("depth"), 1.0);
            match row.text("what") {
                "asked_for" => vec![("asked for".to_owned(), (row.number("cycles") / cycles - 1.0).max(0.0))],
                what => vec![(what.to_owned(), cycles / row.number("cycles") - 1.0)],
            }
        })
        .report(0.05, "of the cycles");
}
