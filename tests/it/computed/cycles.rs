//! Rainflow counting and the life that cycles use up, against a general library for rainflow.

use crate::check_file::{Check, open_json, relative, report_json};
use stilldays::design::{self, Battery};
use stilldays::tally::{CycleLife, Rainflow};
use stilldays::units::Uncertain;

/// Ranges and counts (1 or 0.5) of a history, in the order of their extraction.
pub fn cycles(values: &[f64]) -> Vec<(f64, f64)> {
    let (mut flow, mut found) = (Rainflow::new(), vec![]);
    for &v in values {
        flow.push(v, &mut |range, count| found.push((range, count)));
    }
    flow.finish(&mut |range, count| found.push((range, count)));
    found
}

fn numbers(json: &serde_json::Value) -> Vec<f64> {
    json.as_array().expect("a list").iter().map(|v| v.as_f64().expect("a number")).collect()
}

#[test]
fn a_state_of_charge_history_and_its_damage() {
    let name = "computed/07g_rainflow_soc_miner.json";
    let json = open_json(name);
    let found = cycles(&numbers(&json["history"]));
    let expected: Vec<Vec<f64>> =
        json["cycles_range_mean_count"].as_array().expect("cycles").iter().map(numbers).collect();
    assert_eq!(found.len(), expected.len());
    let mut errors = Vec::new();
    for (&(range, count), row) in found.iter().zip(&expected) {
        errors.extend([range - row[0], count - row[2]]);
    }
    let number = |v: &serde_json::Value| v.as_f64().expect("a number");
    errors.push(found.iter().map(|c| c.1).sum::<f64>() - number(&json["sum_count"]));
    errors.push(found.iter().map(|c| c.0 * c.1).sum::<f64>() - number(&json["sum_range_x_count"]));
    for (name, key) in
        [("Li-ion", "Li-ion 300@100%"), ("LFP", "LFP 600@100%"), ("lead-acid", "lead-acid 250@100%")]
    {
        let pair = numbers(&json["N100_p"][name]);
        let life = CycleLife { at_full_depth: pair[0], exponent: pair[1] };
        let expected = number(&json["miner_damage"][key]);
        errors.push(relative(found.iter().map(|&(d, n)| life.used(d, n)).sum(), expected));
    }
    report_json(name, &errors, 1e-14, "of 1 or of the damage");
}

#[test]
fn a_long_random_history() {
    let name = "computed/07h_rainflow_random.json";
    let json = open_json(name);
    let series = numbers(&json["series"]);
    assert_eq!(series.len(), 5000);
    let found = cycles(&series);
    let bins = json["counts"].as_array().expect("counts");
    assert_eq!(bins.len(), 10);
    let mut errors = Vec::new();
    for (k, bin) in bins.iter().map(numbers).enumerate() {
        let (lo, hi) = (k as f64 / 10.0, (k + 1) as f64 / 10.0);
        let count: f64 = found.iter().filter(|c| c.0 > lo && c.0 <= hi).map(|c| c.1).sum();
        assert_eq!(count, bin[1], "ranges up to {hi}");
        errors.push(count - bin[1]);
    }
    let travel: f64 = found.iter().map(|c| c.0 * c.1).sum();
    errors.push(travel - json["total_range_times_count"].as_f64().expect("a number"));
    // Counted travel is half of all travel.
    errors.push(travel - series.windows(2).map(|w| (w[1] - w[0]).abs()).sum::<f64>() / 2.0);
    report_json(name, &errors, 1e-12, "cycles or of the travel");
}

/// The battery of a design that states no more than this.
pub fn battery(chemistry: &str, voltage: &str) -> Battery<Uncertain> {
    let text = format!(
        "[site]\nweather = \"a.csv\"\n[panel]\nrated_power = \"10 W\"\nopen_circuit_voltage = \"10.8 V\"\n\
         [battery]\nchemistry = \"{chemistry}\"\nvoltage = \"{voltage}\"\ncapacity = \"3 Ah\"\n\
         [pump]\nbench = [[\"6 V\", \"290 mA\", \"430 mm\"]]\n"
    );
    let file = design::parse("usual.toml".as_ref(), text).unwrap_or_else(|p| panic!("{p}"));
    file.design.battery.expect("it has one")
}

/// The default cycle life of each chemistry is the line through its table, rounded.
#[test]
fn usual_cycle_lives_are_lines_through_the_tables() {
    Check::open("computed/07i_cycle_life_dod.csv")
        .compare(|row| {
            let name = row.text("chemistry");
            let (chemistry, voltage) = match name {
                "NMC" => ("lithium ion", "7.4 V"),
                "LFP" => ("lithium iron phosphate", "6.4 V"),
                "lead-acid deep-cycle" => ("lead-acid", "6 V"),
                other => panic!("chemistry {other}"),
            };
            let battery = battery(chemistry, voltage);
            let (n100, p) = (battery.cycles_at_full_depth.nominal, battery.cycle_exponent.nominal);
            vec![
                (format!("{name} N100"), relative(n100, row.number("fit_N100"))),
                (format!("{name} p"), relative(p, row.number("fit_p"))),
            ]
        })
        .report(0.015, "of the value");
}
