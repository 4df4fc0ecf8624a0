//! Defaults that follow from other values, the drawing of units, and the key table itself.

use std::collections::BTreeSet;
use std::path::Path;

use super::keys::words::WordList;
use super::keys::{self, Fallback, Kind, Only};
use super::*;
use crate::units::{Uncertain, parse as quantity};

fn text(extra: &str) -> String {
    format!(
        "[site]\nweather = \"a.csv\"\n[panel]\nrated_power = \"10 W ± 20 %\"\nmax_power_voltage = \"8.82 V\"\n{extra}"
    )
}

fn read_text(extra: &str) -> DesignFile {
    parse(Path::new("folder/x.toml"), text(extra)).unwrap_or_else(|p| panic!("{p}"))
}

const BENCH_2: &str = "bench = [[\"3 V\", \"110 mA\", \"120 mm\"], [\"6 V\", \"290 mA\", \"430 mm\"]]\n";

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9 * b.abs().max(1.0)
}

#[test]
fn every_default_text_is_read_and_lies_in_its_range() {
    let mut seen = 0;
    for key in keys::all() {
        let (Fallback::Text(text), Some((d, lo, hi))) = (&key.default, key.quantity()) else { continue };
        let q = quantity(text, d).unwrap_or_else(|e| panic!("{}: {e:?}", key.path));
        assert!(lo <= q.lowest() && q.highest() <= hi, "{}", key.path);
        assert!(q.is_exact() || !matches!(key.kind, Kind::Exact(..)), "{}", key.path);
        seen += 1;
    }
    assert!(seen > 30, "{seen}");
}

/// Words come from the enums that readers turn them into: each is read, and recorded, under its own key.
#[test]
fn every_word_of_the_key_table_is_read_as_itself() {
    let lines = |table: &str| match table {
        "battery" => "chemistry = \"AGM\"\nvoltage = \"36 V\"\ncapacity = \"9 Ah\"\n",
        "pump" => BENCH_2,
        // A timer needs them.
        "running" => "hours = \"10:00 to 20:00\"\n",
        _ => "",
    };
    let mut seen = 0;
    for key in keys::all() {
        let Kind::Words(words) = key.kind else { continue };
        if let Fallback::Text(default) = key.default {
            assert!(words.iter().any(|w| w.word == default), "{}", key.path);
        }
        let (table, name) = key.path.split_once('.').unwrap();
        for word in words {
            for spelling in std::iter::once(&word.word).chain(word.also) {
                let mut text = String::new();
                for other in ["battery", "pump", "mount", "electronics", "running", "care"] {
                    let kept = lines(other).lines().filter(|l| other != table || !l.starts_with(name));
                    text += &format!("[{other}]\n{}\n", kept.collect::<Vec<_>>().join("\n"));
                    if other == table {
                        text += &format!("{name} = \"{spelling}\"\n");
                    }
                }
                if table == "care" {
                    // Only a season leaves a winter.
                    text += "[wish]\nseason = \"04-01 to 10-31\"\n";
                }
                // A battery of any chemistry is far above this panel.
                let mut lines = super::tests::text(&text);
                if table == "panel" {
                    lines = lines.replace("[panel]\n", &format!("[panel]\n{name} = \"{spelling}\"\n"));
                }
                let path = Path::new("x.toml");
                if table == "site" {
                    let trees =
                        "skyline = [[\"90 deg\", \"8 deg\", \"trees\"], [\"180 deg\", \"8 deg\", \"trees\"]]";
                    lines = lines.replace("[site]\n", &format!("[site]\n{trees}\n{name} = \"{spelling}\"\n"));
                }
                let read = file::parse_alone("x.toml", path, lines, file::Fit::Open);
                let inputs = read.unwrap_or_else(|p| panic!("{p}")).0.inputs;
                let input = inputs.iter().find(|i| i.key == key.path).unwrap();
                assert_eq!((input.value.as_str(), input.given), (word.word, true), "{spelling}");
                seen += 1;
            }
        }
    }
    assert!(seen > 25, "{seen}");
    for key in keys::all() {
        let Only::Words(other, words) = key.only else { continue };
        let Some(Kind::Words(known)) = keys::key(other).map(|k| &k.kind) else { panic!("{}", key.path) };
        assert!(words.iter().all(|w| known.iter().any(|k| k.word == *w)), "{}", key.path);
    }
}

#[test]
fn the_meaning_of_a_voltage_names_every_cell() {
    let meaning = keys::key("battery.voltage").unwrap().meaning;
    for chemistry in Chemistry::ALL {
        let usual = chemistry.usual();
        for cell in std::iter::once(usual.cell_v).chain(usual.cell_v_also) {
            assert!(meaning.contains(&cell.to_string()), "{cell} in {meaning}");
        }
    }
}

#[test]
fn every_quantity_of_the_design_is_a_key_of_the_table() {
    // Rules go by charge or by voltage, and slow down by a share or to a voltage.
    let by_charge = "slow_below = \"70 %\"\nslow_speed = \"90 %\"\nslower_below = \"60 %\"\nslower_speed = \"80 %\"\n\
                     rest_below = \"50 %\"\nhold_until = \"50 %\"\nreserve_below = \"50 %\"\n";
    let by_voltage = "slow_below_voltage = \"6.2 V\"\nslow_voltage = \"5.5 V\"\nslower_below_voltage = \"6.1 V\"\n\
                      slower_voltage = \"5 V\"\nrest_below_voltage = \"6 V\"\nhold_until_voltage = \"6.3 V\"\n\
                      reserve_below_voltage = \"6.1 V\"\n";
    let mut all = BTreeSet::new();
    // A socket gives the pump its own voltage, whatever the rules of voltage say of the battery's.
    let socket = "[electronics]\nsocket_voltage = \"6 V\"\nsocket_sleeps_below = \"10 mA\"\n";
    for (rules, more) in [(by_charge, ""), (by_voltage, ""), ("", socket)] {
        let file = read_text(&format!(
            "[battery]\nchemistry = \"AGM\"\nvoltage = \"6 V\"\ncapacity = \"4 Ah\"\n[pump]\n{BENCH_2}nozzle_bore = \"4 mm\"\n\
             [running]\n{rules}[water]\ndepth = \"50 cm\"\n{more}"
        ));
        let mut seen = BTreeSet::new();
        let _ = file.design.map(&mut |key, _| {
            assert!(seen.insert(key.to_owned()), "{key} twice");
            assert!(key.starts_with("pump.bench[") || dimension_of(key).is_some(), "{key}");
        });
        all.append(&mut seen);
    }
    let seen = all;
    let held = |path: &str| seen.contains(path);
    for key in keys::all().filter(|k| matches!(k.kind, Kind::Quantity(..) | Kind::Named(..))) {
        assert!(held(key.path), "{} is read but not held", key.path);
    }
}

#[test]
fn what_the_panels_label_does_not_say_follows_the_stated_rules() {
    let panel = read_text(&format!("[pump]\n{BENCH_2}")).design.panel;
    assert!(near(panel.open_circuit_voltage_v.nominal, 1.22 * 8.82));
    assert!(near(panel.short_circuit_current_a.nominal, 1.07 * 10.0 / 8.82));
    assert_eq!(panel.cells, 18);
}

#[test]
fn what_the_battery_does_not_say_follows_from_its_chemistry() {
    let of = |chemistry: &str, voltage: &str, cells: u32, cut_off: f64, reconnect: f64, charge: f64| {
        let battery =
            format!("[battery]\nchemistry = \"{chemistry}\"\nvoltage = \"{voltage}\"\ncapacity = \"2 Ah\"");
        let design = read_text(&format!("{battery}\n[pump]\n{BENCH_2}")).design;
        let battery = design.battery.as_ref().unwrap();
        assert_eq!(battery.cells, cells, "{chemistry}");
        let e = &design.electronics;
        assert!(near(e.cut_off_v.nominal, cut_off), "{chemistry} {:?}", e.cut_off_v);
        assert!(near(e.reconnect_v.nominal, reconnect), "{chemistry} {:?}", e.reconnect_v);
        assert!(near(e.charge_voltage_v.nominal, charge), "{chemistry} {:?}", e.charge_voltage_v);
        assert_eq!(e.charging, Charging::Pwm);
        battery.clone()
    };
    let lithium = of("lithium ion", "7.4 V", 2, 6.0, 6.7, 8.4);
    // 0.12 to 0.18 ohm Ah a cell, two cells, 2 Ah.
    assert!(near(lithium.resistance_ohm.lowest(), 0.12) && near(lithium.resistance_ohm.highest(), 0.18));
    assert_eq!(lithium.kibam_c, Uncertain::exact(1.0));
    of("lithium ion", "7.2 V", 2, 6.0, 6.7, 8.4);
    // Pouch cells have the voltages of lithium ion, not those of iron phosphate.
    of("LiPo", "7.4 V", 2, 6.0, 6.7, 8.4);
    of("lithium polymer", "7.4 V", 2, 6.0, 6.7, 8.4);
    of("LiFePO4", "6.4 V", 2, 5.8, 6.4, 7.2);
    let lead = of("lead-acid", "6 V", 3, 5.76, 6.3, 7.2);
    assert_eq!(lead.kibam_k_per_h, Uncertain::between(0.3, 1.5));
    of("NiMH", "6 V", 5, 5.0, 6.25, 7.25);
}

#[test]
fn a_high_cut_off_moves_the_reconnect_along() {
    let battery = "[battery]\nchemistry = \"LFP\"\nvoltage = \"6.4 V\"\ncapacity = \"3 Ah\"\n[electronics]\ncut_off = \"6.2 V\"";
    let e = read_text(&format!("{battery}\n[pump]\n{BENCH_2}")).design.electronics;
    assert!(near(e.reconnect_v.nominal, 6.8));
}

#[test]
fn what_the_pump_does_not_say_follows_from_its_bench() {
    let electronic = read_text(&format!("[pump]\n{BENCH_2}")).design.pump;
    assert!(near(electronic.highest_voltage_v.nominal, 7.2));
    assert!(near(electronic.start_voltage_v.highest(), 3.0));
    assert!(electronic.stop_voltage_v.highest() <= electronic.start_voltage_v.lowest());
    let brushed = read_text(&format!("[pump]\nkind = \"brushed\"\n{BENCH_2}")).design.pump;
    // I = I0 + c V²: c = 180 mA / 27 V², I0 = 110 mA - 60 mA.
    assert!(near(brushed.break_away_current_a.lowest(), 1.3 * 0.05));
    assert!(near(brushed.winding_ohm.nominal, 0.2 * 6.0 / 0.29));
    assert!(near(brushed.start_voltage_v.nominal, 1.7 * 0.05 * 0.2 * 6.0 / 0.29));
}

#[test]
fn wished_dusk_run_follows_the_hours() {
    let of = |hours: &str| {
        read_text(&format!("[wish]\nhours = \"{hours}\"\n[pump]\n{BENCH_2}")).design.wish.dusk_run_min
    };
    assert_eq!(of("sunrise to sunset + 90 min"), 90.0);
    assert_eq!(of("sunrise to sunset - 90 min"), 0.0);
    assert_eq!(of("08:00 to 22:00"), 60.0);
}

#[test]
fn no_draw_is_a_panel_or_pump_that_cannot_exist() {
    for kind in ["brushed", "electronic"] {
        let design = read_text(&format!("[pump]\nkind = \"{kind}\"\n{BENCH_2}")).design;
        for k in 0..200 {
            // Neighbouring keys far apart: the worst for what belongs together.
            let mut flip = f64::from(k) / 199.0;
            let unit = design.draw(&mut |_| {
                flip = 1.0 - flip;
                flip
            });
            let max_power_a = unit.panel.rated_power_w / unit.panel.max_power_voltage_v;
            assert!(unit.panel.short_circuit_current_a > max_power_a);
            assert!(near(unit.panel.short_circuit_current_a / max_power_a, 1.07));
            assert!(unit.pump.stop_voltage_v <= unit.pump.start_voltage_v);
        }
        let nominal = design.map(&mut |_, q| q.nominal);
        assert_eq!(design.draw(&mut |_| 0.5).panel.rated_power_w, nominal.panel.rated_power_w);
    }
}

#[test]
fn only_what_has_an_effect_counts_as_unknown() {
    let unknown = read_text(&format!("[pump]\n{BENCH_2}")).design.uncertain_keys();
    assert!(unknown.contains(&"panel.rated_power".to_owned()));
    for idle in ["mount.speed", "mount.contrast", "electronics.charge_efficiency", "pump.winding_resistance"]
    {
        assert!(!unknown.contains(&idle.to_owned()), "{idle}");
    }
    let seeking = read_text(&format!("[mount]\nkind = \"light-seeking\"\n[pump]\n{BENCH_2}")).design;
    assert!(seeking.uncertain_keys().contains(&"mount.contrast".to_owned()));
}

#[test]
fn a_file_knows_its_weather_its_hash_and_its_inputs() {
    let file = read_text(&format!("[pump]\n{BENCH_2}"));
    assert_eq!(file.weather_paths(), [Path::new("folder/a.csv")]);
    assert_eq!(file.design.title, "x");
    assert_eq!(file.sha256.len(), 64);
    let given: Vec<&str> = file.inputs.iter().filter(|i| i.given).map(|i| i.key.as_str()).collect();
    assert_eq!(given, ["site.weather", "panel.rated_power", "panel.max_power_voltage", "pump.bench"]);
    let keys: BTreeSet<&str> = file.inputs.iter().map(|i| i.key.as_str()).collect();
    assert_eq!(keys.len(), file.inputs.len(), "an input is recorded twice");
    assert!(file.warning_lines()[0].contains("south"));
}

#[test]
fn seasons_run_over_the_new_year() {
    let season =
        |text: &str| read_text(&format!("[wish]\nseason = \"{text}\"\n[pump]\n{BENCH_2}")).design.wish;
    let winter: Vec<u16> = season("12-30 to 01-02").days().collect();
    assert_eq!(winter, [363, 364, 0, 1]);
    assert_eq!(season("04-01 to 10-31").season, (90, 303));
}

#[test]
fn azimuths_a_mount_reaches_wrap_through_north() {
    let mount = read_text(&format!(
        "[mount]\nkind = \"sun-following\"\nazimuth_range = [\"300 deg\", \"60 deg\"]\nrest_azimuth = \"0 deg\"\n[pump]\n{BENCH_2}"
    ));
    assert_eq!(
        (mount.design.mount.azimuth_centre_deg, mount.design.mount.azimuth_half_range_deg),
        (0.0, 60.0)
    );
}
