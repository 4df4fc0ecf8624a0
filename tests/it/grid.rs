//! `grid`: its cells against a store with a known law, its lines against the published shape, its output, and what it
//! refuses.

use crate::common::calendar;
use crate::main_job::evenings;
use rand::RngExt;
use serde_json::Value;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use stilldays::design::{self, DesignFile};
use stilldays::lanes::Isa;
use stilldays::report;
use stilldays::seed::{Purpose, stream};
use stilldays::study::grid::{self, Axis, CellEffort, Grid};
use stilldays::study::plan::{CHAIN_START, RUN_IN_DAYS};
use stilldays::study::{Engine, Plan, Sites};
use stilldays::tally::Meets;
use stilldays::tally::{Moments, intervals};
use stilldays::units::dates;
use stilldays::weather::SampledDay;

fn read(text: &str, folder: &Path) -> DesignFile {
    design::parse(&folder.join("toy.toml"), text.to_owned()).unwrap_or_else(|p| panic!("{p}"))
}

fn map(file: &DesignFile, x: &str, y: &str, effort: CellEffort, threads: usize) -> Grid {
    let stop = AtomicBool::new(false);
    let pool = Arc::new(rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap());
    let engine = Engine { seed: 1, isa: Isa::detect(), pool, progress: &|_| (), journal: None, stop: &stop };
    let axis = |flag, text| Axis::parse(flag, text, file).unwrap_or_else(|p| panic!("{p}"));
    let plan = Plan::new(file.clone(), &Sites::new()).unwrap_or_else(|p| panic!("{p}"));
    grid::map(&engine, plan, (axis("--x", x), axis("--y", y)), (effort, None), "stilldays grid")
        .unwrap_or_else(|p| panic!("{p}"))
}

/// A fixed panel, a battery without losses, a jet wanted for two hours of the evening; sixty days.
const TOY: &str = r#"
[site]
weather = "toy.csv"
year_spread = "none"
albedo = "20 %"
[wish]
season = "05-01 to 06-29"
hours = "sunset + 60 min to sunset + 180 min"
jet = "250 mm"
still_days = "16"
[panel]
rated_power = "10 W"
open_circuit_voltage = "10.8 V"
max_power_voltage = "8.8 V"
short_circuit_current = "1.25 A"
low_light = "0.5"
soiling = "3 %"
blocking_drop = "0.35 V"
heat_loss = "25 W/(m2 K)"
incidence_loss = "0.05"
[mount]
kind = "fixed"
tilt = "35 deg"
azimuth = "180 deg"
[battery]
chemistry = "lithium iron phosphate"
voltage = "6.4 V"
capacity = "1 Ah"
capacity_left = "90 %"
resistance = "0.001 ohm"
coulombic_efficiency = "100 %"
self_discharge = "0 %/month"
temperature_lag = "3 h"
kept_above_freezing = true
[electronics]
charging = "pwm"
charge_voltage = "7.2 V"
cut_off = "5.8 V"
reconnect = "6.4 V"
standby_current = "0 A"
charge_current_max = "50 A"
[pump]
bench = [["3 V", "110 mA", "120 mm"], ["6 V", "290 mA", "430 mm"]]
highest_voltage = "9 V"
[water]
area = "0.5 m2"
[prices]
panel = 20.0
battery = 10.0
"#;

/// Days of two kinds: a clear sky with this probability, or almost no light.
const SUNNY: f64 = 0.45;

/// A year of such days at the invented place of [`calendar`].
fn toy_weather() -> String {
    let calendar = calendar();
    let mut luck = stream(3, Purpose::Invent, 0, 0);
    let mut hours = vec![(0.0, 0.0, 0.0); 8760];
    for day in &calendar.days {
        let sunny = luck.random::<f64>() < SUNNY;
        for slot in 0..24 {
            let mean = |f: fn(&stilldays::sky::SunMinute) -> f64| {
                day.minutes[day.minutes_of_slot(slot)].iter().map(f).sum::<f64>() / 60.0
            };
            let (dni, dhi) = (mean(|m| m.dni_clear_w_m2), mean(|m| m.dhi_clear_w_m2));
            let ghi = mean(|m| m.dni_clear_w_m2 * m.up + m.dhi_clear_w_m2);
            // No light at all would count as a missing day.
            let (ghi, dni, dhi) = if sunny { (ghi, dni, dhi) } else { (0.002 * ghi, 0.0, 0.002 * ghi) };
            hours[calendar.hour_index(day.day_of_year.into(), slot)] = (ghi, dni, dhi);
        }
    }
    let mut text = "# stilldays weather 1\n# latitude_deg = 45\n# longitude_deg = 15\n# elevation_m = 200\n\
         # utc_offset_h = 1\n# origin = a toy for tests\n# invented = yes\n\
         month,day,hour,ghi_w_m2,dni_w_m2,dhi_w_m2,air_c,humidity_share,wind_m_s\n"
        .to_owned();
    for (h, (ghi, dni, dhi)) in hours.iter().enumerate() {
        let (month, day) = dates::month_and_day((h / 24) as u16);
        writeln!(text, "{month},{day},{},{ghi},{dni},{dhi},18,0.6,2", h % 24 + 1).unwrap();
    }
    text
}

/// A store that every sunny day fills and that lasts n evenings leaves the jet still exactly on days that follow n dark days
/// in a row: Moran's dam (P. A. P. Moran 1959, The Theory of Storage). Here the days are a chain drawn by the sampler, so
/// the exact table is counted over 4,000 chains without any plant; its own error is four times smaller.
///
/// Eight cells, each within the 99.9 % interval of the difference of the two: a correct program fails for fewer than 8 of
/// 1000 seeds. The seed is fixed.
#[test]
fn a_grid_over_capacity_gives_the_table_of_morans_dam() {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join("toy.csv"), toy_weather()).unwrap();
    let file = read(TOY, dir.path());
    let plan = Plan::new(file.clone(), &Sites::new()).unwrap_or_else(|p| panic!("{p}"));
    let sampler = &plan.site.sampler;
    let start = plan.chain_offset() + RUN_IN_DAYS;
    // Longest dark run up to each day of each chain; the store is full before the run-in.
    let days = plan.chain_days();
    let dark_runs = |trial: u64| -> Vec<u32> {
        let mut run = 0;
        let of = |day: &SampledDay| {
            run = if day.index > 0.5 { 0 } else { run + 1 };
            run
        };
        let all: Vec<u32> =
            sampler.chain(1, trial, CHAIN_START, days).iter().skip(plan.chain_offset()).map(of).collect();
        all[start - plan.chain_offset()..].to_vec()
    };
    // The trials of the grid come first; the table is of others.
    let chains: Vec<Vec<u32>> = (0..4400).map(dark_runs).collect();
    let months = 60.0 * 12.0 / 365.0;

    let (capacities, panels) = ("battery.capacity=0.7,1.3,2,2.8 Ah", "panel.rated_power=1..1.2x2");
    let g = map(&file, capacities, panels, CellEffort::Clear, 2);
    let few = map(&file, capacities, panels, CellEffort::Trials(32), 2);
    let mut sizes = Vec::new();
    for (x, y) in (0..4).flat_map(|x| [(x, 0), (x, 1)]) {
        let cell = g.cell(x, y);
        let mut design = file.design.clone();
        design.battery.as_mut().unwrap().capacity_ah.nominal = g.x.values[x];
        let n = evenings(&design) as u32;
        let still = |chain: &Vec<u32>| chain.iter().filter(|run| **run >= n).count() as f64 / months;
        let mut exact = Moments::default();
        chains[400..].iter().for_each(|c| exact.push(still(c)));
        let e = cell.still_days_per_month.unwrap();
        let se = (e.se.unwrap() * e.se.unwrap() + exact.se().unwrap() * exact.se().unwrap()).sqrt();
        let half = intervals::half_width(Some(se), cell.trials, 0.999).unwrap();
        let table = exact.mean().unwrap();
        println!(
            "{} Ah: {n} evenings, exact {table:.3}, {} trials {:.3} ± {half:.3}",
            g.x.values[x], cell.trials, e.mean
        );
        assert!((e.mean - table).abs() <= half, "{} Ah: {} is not {table} ± {half}", g.x.values[x], e.mean);
        // Day by day: without any help from others, a cell has the very still days its chains say.
        let own = chains[..32].iter().map(still).sum::<f64>() / 32.0;
        let alone = few.cell(x, y).still_days_per_month.unwrap().mean;
        assert!((own - alone).abs() < 1e-9, "{own} is not {alone}");
        sizes.push(n);
    }
    sizes.dedup();
    assert!(sizes.len() == 4 && sizes.is_sorted(), "stores of {sizes:?} evenings: four sizes were meant");

    // Prices go with size, and the cheapest that surely meets the wish is the least store whose table does.
    let price = |x: usize, y: usize| g.cell(x, y).price.unwrap();
    assert!((price(0, 0) - (20.0 + 7.0)).abs() < 1e-9 && (price(3, 1) - (24.0 + 28.0)).abs() < 1e-9);
    let best = &g.cells[g.cheapest.expect("a large store meets the wish")];
    assert_eq!((best.meets_wish, best.y), (Some(Meets::Yes), 0));
    for c in g.cells.iter().filter(|c| c.meets_wish == Some(Meets::Yes)) {
        assert!(c.price >= best.price);
    }
    assert!(g.may_be_cheaper.iter().all(|&k| g.cells[k].meets_wish == Some(Meets::Unsure)));
}

/// Lines of equal loss of load over generator and storage capacity: the storage needed falls as the generator grows, the
/// more steeply the smaller the loss (Luque & Hegedus, Handbook of Photovoltaic Science and Engineering, ch. 20; Egido &
/// Lorenzo 1992, Solar Energy Materials 26:177; both from memory). On a real typical year (Chicago, IL; tests/data), October
/// to December.
#[test]
fn lines_of_equal_loss_of_load_have_the_published_shape() {
    let text = r#"
[site]
weather = "chicago-il.epw.gz"
[wish]
season = "10-01 to 12-31"
hours = "10:00 to 20:00"
jet = "250 mm"
[panel]
rated_power = "10 W"
open_circuit_voltage = "10.8 V"
[mount]
kind = "fixed"
tilt = "60 deg"
[battery]
chemistry = "lead-acid"
voltage = "6 V"
capacity = "6 Ah"
kept_above_freezing = true
[pump]
bench = [["3 V", "62 mA", "140 mm"], ["6 V", "155 mA", "480 mm"]]
highest_voltage = "7.5 V"
"#;
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data");
    let g = map(
        &read(text, &folder),
        "battery.capacity=1,2,3,5,8,12,18,26,36 Ah",
        "panel.rated_power=5,6,8,10,13,16 W",
        CellEffort::Trials(16),
        2,
    );
    let lost = |x: usize, y: usize| g.cell(x, y).loss_of_load.unwrap().mean;
    for y in (0..6).rev() {
        println!(
            "{:>5} W {:?}",
            g.y.values[y],
            (0..9).map(|x| (lost(x, y) * 1000.0).round() / 1000.0).collect::<Vec<_>>()
        );
    }
    let lattice: Vec<Vec<Option<f64>>> = (0..6).map(|y| (0..9).map(|x| Some(lost(x, y))).collect()).collect();
    // Store needed at each array, along a line of equal loss.
    let store = |level: f64| -> Vec<Option<f64>> {
        let found = grid::lines(&lattice, level);
        (0..6)
            .map(|y| {
                let on_row = found.iter().flatten().filter(|p| p[1] == f64::from(y)).map(|p| p[0]);
                on_row.fold(None, |least: Option<f64>, at| Some(least.map_or(at, |l| l.min(at))))
            })
            .map(|at| at.map(|at| g.x.between(at)))
            .collect()
    };
    let (large, small) = (store(0.1), store(0.02));
    println!("store at a loss of 0.1: {large:.2?}, of 0.02: {small:.2?}");
    let mut pairs = 0;
    for y in 0..5 {
        for line in [&large, &small] {
            if let (Some(a), Some(b)) = (line[y], line[y + 1]) {
                assert!(b < a, "more array needs no more store: {a} Ah, then {b} Ah");
            }
        }
        if let (Some(a), Some(b), Some(c), Some(d)) = (large[y], large[y + 1], small[y], small[y + 1]) {
            assert!(
                c - d > a - b,
                "the line of the smaller loss is steeper: {c} to {d} Ah against {a} to {b} Ah"
            );
            pairs += 1;
        }
    }
    assert!(pairs >= 2, "the map has too little of both lines: {large:?} {small:?}");
}

/// A demo design (invented), by the start of its name.
fn demo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(format!("{name}.toml"))
}

fn stilldays(args: &[&str], folder: &Path, locale: &str) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_stilldays"));
    command.args(args).current_dir(folder).env("NO_COLOR", "1").env("LC_ALL", locale);
    command.output().unwrap()
}

#[test]
fn a_grid_is_shown_and_written_and_its_files_agree() {
    let dir = tempfile::tempdir().unwrap();
    let path = demo("mill-6-fixed-battery");
    let x = "panel.rated_power=0.3,0.5,1";
    let y = "electronics.cut_off=5.8,6,6.9 V";
    let args = ["grid", path.to_str().unwrap(), "--x", x, "--y", y, "--trials", "32"];
    for (locale, ascii) in [("C", true), ("C.UTF-8", false)] {
        let out = stilldays(&args, dir.path(), locale);
        let said = String::from_utf8(out.stdout).unwrap();
        assert_eq!(out.status.code(), Some(0), "{}", String::from_utf8_lossy(&out.stderr));
        for line in said.lines().filter(|l| !l.starts_with("Page and numbers:")) {
            assert!(line.chars().count() <= 80, "{} columns: {line}", line.chars().count());
            assert!(!ascii || line.is_ascii(), "{line}");
        }
        for words in
            ["Still days a month", "Lines of equal still days", "Price", "Refused", "32 trials of each build"]
        {
            assert!(said.contains(words), "{words} in\n{said}");
        }
    }
    let folder = dir.path().join("results/mill-6-fixed-battery");
    let json = std::fs::read(folder.join("grid.json")).unwrap();
    let g: Value = serde_json::from_slice(&json).unwrap();
    assert_eq!(g["schema"], "stilldays.grid/1");
    assert_eq!((&g["x"]["key"], &g["y"]["unit"]), (&"panel.rated_power".into(), &"V".into()));
    let cells = g["cells"].as_array().unwrap();
    assert_eq!(cells.len(), 9);
    let (refused, known): (Vec<&Value>, Vec<&Value>) = cells.iter().partition(|c| !c["refused"].is_null());
    assert_eq!((refused.len(), known.len()), (3, 6), "a cut-off above the reconnect voltage is no build");
    for c in refused {
        assert!(c["still_days_per_month"].is_null() && c["price"].is_null() && c["meets_wish"].is_null());
    }

    let mut reader =
        csv::ReaderBuilder::new().comment(Some(b'#')).from_path(folder.join("grid.csv")).unwrap();
    let head: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    assert_eq!(
        head[..5],
        ["panel.rated_power W", "electronics.cut_off V", "x_multiple", "y_multiple", "trials"]
    );
    let rows: Vec<csv::StringRecord> = reader.records().map(|r| r.unwrap()).collect();
    assert_eq!(rows.len(), cells.len());
    for (row, c) in rows.iter().zip(cells) {
        for (column, value) in [
            ("panel.rated_power W", &g["x"]["values"][c["x"].as_u64().unwrap() as usize]),
            ("trials", &c["trials"]),
            ("still_days_per_month", &c["still_days_per_month"]["mean"]),
            ("still_days_per_month_se", &c["still_days_per_month"]["se"]),
            ("dusk_wish_met", &c["dusk_wish_met"]["mean"]),
            ("years_met", &c["years_met"]),
            ("price", &c["price"]),
            ("against_design", &c["against_design"]["mean"]),
        ] {
            let field = &row[head.iter().position(|h| h == column).unwrap()];
            match value.as_f64() {
                Some(v) => assert_eq!(field.parse::<f64>().unwrap(), v, "{column}"),
                None => assert_eq!(field, "", "{column}: not known is empty"),
            }
        }
    }

    let page = std::fs::read_to_string(folder.join("grid.html")).unwrap();
    let data = page.split("id=\"data\">").nth(1).unwrap().split("</script>").next().unwrap();
    assert_eq!(serde_json::from_str::<Value>(data).unwrap(), g, "the page carries the numbers of the file");
    assert!(page.len() < 400_000, "{} bytes", page.len());
    crate::browser::holds_on(&folder.join("grid.html"), 3);
    crate::browser::walks_the_map(&folder.join("grid.html"));

    let again = stilldays(&[&args[..], &["--threads", "1", "--quiet"]].concat(), dir.path(), "C");
    assert!(again.status.success() && again.stdout.is_empty());
    assert!(std::fs::read(folder.join("grid.json")).unwrap() == json, "threads change no byte");
}

/// Cells stop at different numbers of trials; these must not depend on the number of threads.
#[test]
fn stopping_early_gives_the_same_bytes_on_any_threads() {
    let text = std::fs::read_to_string(demo("mill-6-fixed-battery")).unwrap();
    let text = text.replace("season = \"04-01 to 10-31\"", "season = \"07-01 to 10-31\"");
    let file = design::parse(&demo("mill-6-fixed-battery"), text).unwrap_or_else(|p| panic!("{p}"));
    let go = |threads| {
        map(&file, "battery.capacity=1..2x2", "panel.rated_power=1..1.5x2", CellEffort::Clear, threads)
    };
    let one = go(1);
    let trials: Vec<u64> = one.cells.iter().map(|c| c.trials).collect();
    assert!(trials.contains(&96) && trials.iter().all(|n| (96..=400).contains(n)), "{trials:?}");
    assert_eq!(one.design.run.trials, 400);
    assert!(report::json::bytes(&one) == report::json::bytes(&go(2)));
}

#[test]
fn axes_that_are_off_are_both_pointed_at() {
    let dir = tempfile::tempdir().unwrap();
    let path = demo("mill-6-fixed-battery");
    let grid = |x: &str, y: &str| {
        let out = stilldays(&["grid", path.to_str().unwrap(), "--x", x, "--y", y], dir.path(), "C");
        assert_eq!(out.status.code(), Some(2), "{x} {y}");
        assert!(out.stdout.is_empty());
        String::from_utf8(out.stderr).unwrap()
    };
    let said = grid("battery.capcity=1..6x5", "panel.rated_power=5..10 V");
    for words in ["--x:1:1", "did you mean `capacity`?", "--y:1:19", "a power is expected", "^"] {
        assert!(said.contains(words), "{words} in\n{said}");
    }
    let same = grid("battery.capacity=1,2", "battery.capacity=1,2");
    assert!(same.contains("both vary battery.capacity"), "{same}");
    // A map of nothing but refused builds says why.
    let out = stilldays(
        &["grid", path.to_str().unwrap(), "--x", "electronics.cut_off=7,7.1 V", "--trials", "16"],
        dir.path(),
        "C",
    );
    let said = String::from_utf8(out.stderr).unwrap();
    assert_eq!(out.status.code(), Some(1), "{said}");
    assert!(said.contains("cut_off"), "{said}");
    assert!(dir.path().read_dir().unwrap().next().is_none(), "nothing is written");
}

/// A map over batteries and two panels.
pub fn map_of<'a>(design: &'a str, batteries: &'a str, trials: &'a str) -> [&'a str; 8] {
    ["grid", design, "--x", batteries, "--y", "panel.rated_power=1,2", "--trials", trials]
}

/// Over the years a cell pays for its batteries at the price of its size; the list is in the order of what cells cost to keep.
#[test]
fn cells_are_kept_over_the_years() {
    let yard = crate::batch::Yard::new();
    let text = std::fs::read_to_string(yard.design("a.toml", "1 Ah")).unwrap();
    let easy = text.replace("[wish]", "[wish]\nstill_days = 20");
    let more = "[care]\nwinter = \"taken in\"\nreplace_battery_every = \"1 years\"\n";
    yard.file("a.toml", &format!("{easy}[prices]\npanel = 10\nbattery = 20\npump = 5\n{more}"));
    let over_years = ["--cost-over", "4", "--out", "r"];
    let map = map_of("designs/a.toml", "battery.capacity=1..3x3", "96");
    let said = yard.run(&[&map[..], &over_years].concat());
    assert_eq!(said.code, Some(0), "{said:?}");
    assert!(said.out.contains("Over 4 years") && said.out.contains("96 lives of each build"), "{}", said.out);
    assert!(
        said.out.lines().all(|l| l.chars().count() <= 80 || l.contains("Page and numbers")),
        "{}",
        said.out
    );
    let folder = yard.path("r/a");
    let json: serde_json::Value =
        serde_json::from_slice(&std::fs::read(folder.join("grid.json")).unwrap()).unwrap();
    let kept = json["over_years"]["builds"].as_array().unwrap();
    assert!(kept.len() >= 4, "{kept:?}");
    let cost = |b: &serde_json::Value| b["cost"]["mean"].as_f64().unwrap();
    assert!(kept.windows(2).all(|w| cost(&w[0]) <= cost(&w[1])));
    assert_eq!(kept.iter().filter(|b| b["named"] == true).count(), 1);
    for b in kept {
        let (x, y) = (b["x"].as_u64().unwrap(), b["y"].as_u64().unwrap());
        let price = 5.0 + 10.0 * (y + 1) as f64 + 20.0 * (x + 1) as f64;
        assert!((b["price"].as_f64().unwrap() - price).abs() < 1e-9, "{b}");
        // Before years 2, 3 and 4 a battery of its size; pumps outlive three days a year.
        let expected = price + 3.0 * 20.0 * (x + 1) as f64;
        assert!((cost(b) - expected).abs() < 1e-6, "{b}: {expected}");
    }
    let mut reader =
        csv::ReaderBuilder::new().comment(Some(b'#')).from_path(folder.join("grid-years.csv")).unwrap();
    assert_eq!(reader.records().count(), kept.len());
    crate::browser::holds(&folder.join("grid.html"));
    // Without prices there is nothing to compare, and the command says so.
    yard.file("b.toml", &format!("{easy}{more}"));
    let map = map_of("designs/b.toml", "battery.capacity=1,2", "16");
    let said = yard.run(&[&map[..], &over_years].concat());
    assert!(said.code == Some(0) && said.out.contains("No cost over the years"), "{said:?}");
}
