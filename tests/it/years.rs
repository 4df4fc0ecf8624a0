//! `years`: year 1 is a season as `run` shows it, ageing goes one way, care replaces what it says, and bad input is refused.

use crate::batch::{Said, Yard};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::Arc;
use stilldays::design;
use stilldays::study::run::Until;
use stilldays::study::years::{YearsSummary, plans, years};
use stilldays::study::{Engine, Plan, Sites, simulate};

/// An invented demo design (mill 3) with a short season, so that a year costs little, and more tables.
fn short(more: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios");
    let text = std::fs::read_to_string(folder.join("mill-3-seeking-small-battery.toml")).unwrap();
    let text = in_place(&text).replace("04-01 to 10-31", "09-20 to 10-03");
    format!("{text}\n{more}\n")
}

/// A demo design with the place of its weather files written out.
fn in_place(text: &str) -> String {
    let weather = Path::new(env!("CARGO_MANIFEST_DIR")).join("weather");
    text.replace("../weather/", &format!("{}/", weather.to_str().unwrap()))
}

fn plan(text: String) -> Plan {
    let file = design::parse("mill.toml".as_ref(), text).unwrap_or_else(|problems| panic!("{problems}"));
    Plan::new(file, &Sites::new()).expect("its weather")
}

fn live(text: String, lives: u64, n: u16, threads: usize) -> YearsSummary {
    let pool = Arc::new(rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap());
    years(&Engine::new(3, pool), &plan(text), lives, n, "stilldays years mill.toml".into()).expect("lives")
}

/// A pump and a mount that outlive all.
fn lasting(text: String) -> String {
    text.replace("\"8000 h\"", "\"900000 h\"").replace("[mount]", "[mount]\nrated_hours = \"900000 h\"")
}

/// Taken in for the winter: its days are not stepped one by one, so that many years cost little.
const INDOORS: &str = "[care]\nwinter = \"taken in\"\n";

#[test]
fn the_first_year_is_a_season_of_run() {
    let text = lasting(short(""));
    let lived = live(text.clone(), 40, 1, 2);
    let pool = Arc::new(rayon::ThreadPoolBuilder::new().num_threads(2).build().unwrap());
    let run = simulate(&Engine::new(3, pool), &plan(text), Until::Trials(40), String::new()).expect("trials");
    let (a, b) = (&lived.first_year, &run);
    assert_eq!(a.season.still_days.histogram, b.season.still_days.histogram);
    assert_eq!(a.season.jet_min.mean, b.season.jet_min.mean);
    assert_eq!(serde_json::to_string(&a.months).unwrap(), serde_json::to_string(&b.months).unwrap());
    assert_eq!(lived.years[0].still_days.histogram, b.season.still_days.histogram);
    assert_eq!(lived.years[0].wish_met, b.season.wish.years_met);
}

/// Behind plastic a panel fades faster: half of them by more than 2, 4, 8 % a year.
#[test]
fn plastic_fades_faster_than_glass() {
    let still = |front: &str| {
        let text = lasting(short(INDOORS)).replace("[panel]", &format!("[panel]\nfront = \"{front}\""));
        live(text, 48, 8, 2).years.last().unwrap().still_days.mean
    };
    let [glass, pet, resin] = ["glass", "PET", "resin"].map(still);
    println!("{glass} {pet} {resin} still days in year 8");
    assert!(glass <= pet && pet < resin);
}

/// Each cleaning of a season is a visit, and a plan that cleans is weighed where dirt grows.
#[test]
fn cleanings_are_visits() {
    let dirty = |care: &str| {
        let text = lasting(short(care));
        text.replace("[panel]", "[panel]\ndirt_a_day = \"0.4 %\"\ndirt_rain_every = \"60 days\"")
    };
    // Fourteen days of season: on its first, sixth and eleventh.
    let cleaned = live(dirty("[care]\nclean_panel_every = 5\nvisit_price = 7"), 16, 2, 2);
    assert_eq!(cleaned.visits.mean, 6.0);
    assert!(cleaned.care.iter().any(|line| line.contains("every 5 days")), "{:?}", cleaned.care);
    assert_eq!(live(dirty(""), 16, 2, 2).visits.mean, 0.0);
}

#[test]
fn threads_change_nothing() {
    let of = |threads| serde_json::to_string(&live(short(""), 35, 3, threads)).unwrap();
    let one = of(1);
    assert!(one == of(2) && one == of(8));
}

/// Where all the year is one season, and so as `run` takes it, the life that `run` shows is the one that happens: half of the batteries are used up in
/// the year in which the median life ends, but for what a fading battery wears faster.
#[test]
fn the_life_that_run_shows_is_the_one_that_happens_where_all_years_are_alike() {
    let all_year = lasting(short("")).replace("09-20 to 10-03", "01-01 to 12-31");
    let lived = live(all_year, 32, 11, 2);
    let life = lived.first_year.battery.as_ref().and_then(|b| b.life).expect("a life");
    let worn: Vec<f64> = lived.years.iter().map(|y| y.battery_worn_out.expect("it has a battery")).collect();
    assert!(worn.windows(2).all(|pair| pair[0] <= pair[1]), "{worn:?}");
    let half = lived.years.iter().find(|y| y.battery_worn_out >= Some(0.5)).expect("long enough").year;
    println!("median life {:.2} by the first year, half used up in year {half}: {worn:?}", life.p50);
    let [low, high] = life.p50_95;
    // Its year is the one that the life ends in; faster wear takes it forward, never back.
    assert!(f64::from(half) >= 0.9 * low && f64::from(half) <= high + 1.0, "{half} {life:?}");
    assert!(!lived.care.iter().any(|line| line.contains("two seasons")), "{:?}", lived.care);
}

#[test]
fn without_care_a_battery_only_loses() {
    let lived = live(lasting(short(INDOORS)), 48, 30, 2);
    let holds: Vec<f64> =
        lived.years.iter().map(|y| y.battery_holds.expect("it has a battery").p50).collect();
    assert_eq!(holds[0], 1.0);
    assert!(holds.windows(2).all(|pair| pair[1] < pair[0]), "{holds:?}");
    assert!(lived.parts.iter().all(|p| p.replaced.mean == 0.0));
    // Taken in and put out before each of 29 later seasons, and taken in after the last.
    assert_eq!(lived.visits.mean, 59.0);
    // Still days do not fall as it ages, beyond chance.
    let (first, last) = (lived.years[0].still_days.mean_95, lived.years[29].still_days.mean_95);
    assert!(last[1] >= first[0], "{first:?} {last:?}");
}

/// What a battery wears in a winter: little in a cool cellar without cycles, more outside.
#[test]
fn winters_wear_a_battery_and_a_cellar_spares_it() {
    let holds = |care: &str| {
        let lived = live(lasting(short(care)), 16, 3, 2);
        assert!(lived.accounts.worst_wh < 1e-3 && lived.accounts.worst_ah < 1e-5, "{:?}", lived.accounts);
        assert!(lived.accounts.worst_l < 1e-4 && lived.accounts.worst_wh > 0.0, "{:?}", lived.accounts);
        lived.years[2].battery_holds.expect("it has a battery").p50
    };
    let (outside, inside) = (holds(""), holds(INDOORS));
    println!("{outside} outside, {inside} inside after two years");
    assert!(outside < inside && inside < 1.0);
}

/// A mount wears out by its moves; it stays where it stopped until somebody comes.
#[test]
fn mounts_wear_out_and_are_replaced() {
    let rated = |care: &str| {
        short(care).replace("\"8000 h\"", "\"900000 h\"").replace("[mount]", "[mount]\nrated_moves = 300")
    };
    let never = live(rated(INDOORS), 32, 4, 2);
    let broken: Vec<f64> = never.years.iter().map(|y| y.mount_broken.expect("it moves")).collect();
    assert!(broken.windows(2).all(|pair| pair[0] <= pair[1]) && broken[3] > 0.9, "{broken:?}");
    let part = |s: &YearsSummary| s.parts.iter().find(|p| p.part == "mount").expect("it moves").replaced.mean;
    assert_eq!(part(&never), 0.0);
    let care = format!("{INDOORS}replace_mount_after = 2\n");
    let cared = live(rated(&care), 32, 4, 2);
    assert!(part(&cared) > 1.0, "{:?}", cared.parts);
    let lasting = live(lasting(short(INDOORS)), 32, 4, 2);
    assert!(lasting.years.iter().all(|y| y.mount_broken == Some(0.0)));
    let jet = |s: &YearsSummary| s.years[3].jet_h.mean;
    println!("jet in year 4: {} stuck, {} replaced, {} lasting", jet(&never), jet(&cared), jet(&lasting));
    assert!(jet(&never) < jet(&cared) && jet(&never) < 0.97 * jet(&lasting));
    assert!(cared.care.iter().any(|line| line.contains("mount that fails is replaced after 2 days")));
}

#[test]
fn care_replaces_what_it_says() {
    let care =
        format!("{INDOORS}replace_battery_every = \"2 years\"\nreplace_pump_after = 3\nvisit_price = 10\n");
    let text = short(&care).replace("\"8000 h\"", "\"150 h\"");
    let lived = live(text, 32, 5, 2);
    let part = |name: &str| lived.parts.iter().find(|p| p.part == name).expect("it is there");
    // Before years 3 and 5.
    assert_eq!(part("battery").replaced.mean, 2.0);
    let holds: Vec<f64> = lived.years.iter().map(|y| y.battery_holds.expect("a battery").p90).collect();
    assert_eq!((holds[0], holds[2], holds[4]), (1.0, 1.0, 1.0));
    assert!(holds[1] < 1.0 && holds[3] < 1.0);
    // Some 14 days of 5 to 12 h a year: most pumps of 150 h fail within five years.
    assert!(part("pump").any > 0.5, "{:?}", part("pump"));
    let broken: f64 = lived.years.iter().map(|y| y.pump_broken).sum();
    assert!(broken > 0.0);
    // Three days without a pump are still days, and no more than three at a time.
    let never = live(short(INDOORS).replace("\"8000 h\"", "\"150 h\""), 32, 5, 2);
    assert!(never.years[4].still_days.mean > lived.years[4].still_days.mean + 1.0);
    assert!(never.years[4].pump_broken > lived.years[4].pump_broken);
}

#[test]
fn promises_rest_on_enough_lives_and_hold_for_longer_spans_with_more_days() {
    let lived = live(short(INDOORS), 64, 4, 2);
    let days: Vec<Option<u32>> = lived.promise.first_years.iter().map(|p| p.still_days_at_most).collect();
    assert!(days.iter().all(Option::is_some));
    assert!(days.windows(2).all(|pair| pair[0] <= pair[1]), "{days:?}");
    let few = live(short(""), 16, 1, 2);
    assert_eq!(few.promise.first_years[0].still_days_at_most, None);
}

#[test]
fn money_is_that_of_parts_and_visits() {
    let text = lasting(short(""));
    let care = "[care]\nreplace_battery_every = \"2 years\"\nvisit_price = 10\ninterest = \"5 %\"\n";
    let lived = live(format!("{text}{care}"), 16, 4, 2);
    let money = lived.money.as_ref().expect("prices");
    let battery = plan(format!("{text}{care}")).file.design.price_of("battery").unwrap_or(0.0);
    // One battery and one visit in the third year.
    let expected = money.first + (battery + 10.0) / (1.05 * 1.05 * 1.05);
    assert!(
        (money.total_mean.mean - expected).abs() < 1e-5 * expected,
        "{} {expected}",
        money.total_mean.mean
    );
    let annuity = (1.0 - 1.0 / (1.05 * 1.05 * 1.05 * 1.05)) / 0.05;
    assert!((money.per_year.mean - expected / annuity).abs() < 1e-5 * expected);
}

/// Pumps that fail early: who replaces them has fewer still days for more money than who does not, in the same lives.
#[test]
fn plans_of_care_are_weighed_in_the_same_lives() {
    let text = short("[care]\nreplace_pump_after = 5\nreplace_mount_after = 5\nvisit_price = 10")
        .replace("09-20 to 10-03", "04-01 to 12-31")
        .replace("\"8000 h\"", "\"2000 h\"");
    let of = |threads: usize| {
        let pool = Arc::new(rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap());
        plans::weigh(&Engine::new(3, pool), &plan(text.clone()), 20, 3, String::new()).expect("lives").1
    };
    let weighed = of(2);
    assert!(serde_json::to_string(&weighed).unwrap() == serde_json::to_string(&of(1)).unwrap());
    let own = &weighed.list[0];
    let lived = live(text.clone(), 20, 3, 2);
    assert_eq!(own.cost.map(|c| c.mean), lived.money.as_ref().map(|m| m.total_mean.mean));
    assert_eq!(own.visits.mean, lived.visits.mean);
    let mean = lived.years.iter().map(|y| y.still_days.mean).sum::<f64>() / 3.0;
    assert!((own.still_days.mean - mean).abs() < 1e-6, "{} {mean}", own.still_days.mean);

    let nobody = weighed.list.iter().find(|p| p.name == "nobody comes").expect("a plan");
    let against = nobody.still_days_against_own.expect("a difference");
    assert!(against.low > Some(0.0), "{against:?}");
    assert!((against.mean - (nobody.still_days.mean - own.still_days.mean)).abs() < 1e-6);
    assert!(nobody.cost_against_own < Some(0.0) && nobody.visits.mean == 0.0);
    assert!(nobody.on_frontier, "nothing costs less");
    assert!(nobody.worse_than_best && !weighed.list[weighed.cheapest_as_good].worse_than_best);
    assert!(weighed.list[1..].is_sorted_by(|a, b| a.still_days.mean <= b.still_days.mean));
    let fewest = weighed.list.iter().map(|p| p.still_days.mean).fold(f64::INFINITY, f64::min);
    assert!(weighed.list.iter().any(|p| p.on_frontier && p.still_days.mean == fewest));
}

fn stilldays(args: &[&str], folder: &Path) -> Output {
    Command::new(env!("CARGO_BIN_EXE_stilldays"))
        .args(args)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .output()
        .unwrap()
}

#[test]
fn the_command_writes_its_files_and_refuses_bad_input() {
    let dir = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| -> PathBuf {
        let path = dir.path().join(name);
        std::fs::write(&path, text).unwrap();
        path
    };
    write("mill.toml", &short("[care]\nwinter = \"taken in\"\nreplace_battery_below = \"70 %\"\n"));
    let args = [
        "years",
        "mill.toml",
        "--years",
        "3",
        "--trials",
        "32",
        "--seed",
        "1",
        "--weigh-care",
        "--for",
        "client",
    ];
    let out = stilldays(&args, dir.path());
    let text = String::from_utf8(out.stdout).unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    for part in [
        "year",
        "no pump",
        "stuck",
        "Promise",
        "Costs",
        "Plans",
        "nobody comes",
        "Care",
        "Left out",
        "Caution",
    ] {
        assert!(text.contains(part), "{part} is missing in\n{text}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 80 || line.contains('/')), "{text}");
    for name in ["years.html", "years.json", "years.csv", "care.json", "care.csv"] {
        assert!(dir.path().join("results/mill").join(name).exists(), "{name}");
    }
    crate::browser::holds_on(&dir.path().join("results/mill/years.html"), 3);
    let sheet = std::fs::read_to_string(dir.path().join("results/mill/client.html")).unwrap();
    for part in
        ["What can be promised", "gardens of 10", "It hangs on this care", "Agreed", "What this sheet is not"]
    {
        assert!(sheet.contains(part), "{part} is missing on the client's sheet");
    }
    crate::browser::holds_on(&dir.path().join("results/mill/client.html"), 1);
    let json = std::fs::read_to_string(dir.path().join("results/mill/years.json")).unwrap();
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(
        (json["schema"].as_str(), json["years"].as_array().map(Vec::len)),
        (Some("stilldays.years/1"), Some(3))
    );

    let refused = |args: &[&str], words: &str| {
        let out = stilldays(args, dir.path());
        let shown = String::from_utf8_lossy(&out.stderr).into_owned();
        assert!(!out.status.success() && shown.contains(words), "expected `{words}` in\n{shown}");
    };
    refused(&["years", "mill.toml", "--years", "0"], "0 is not in 1..=30");
    refused(&["years", "mill.toml", "--until", "0.1"], "years does not take --until");
    write("odd.toml", &short("[care]\nreplace_battery_below = \"120 %\"\n"));
    refused(&["years", "odd.toml"], "replace_battery_below");
    let direct = std::fs::read_to_string(
        Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/mill-2-seeking-direct.toml"),
    )
    .unwrap();
    let direct = in_place(&direct);
    write("direct.toml", &format!("{direct}\n[care]\nreplace_battery_every = \"3 years\"\n"));
    refused(&["years", "direct.toml"], "cares for a battery, and this design has none");
    refused(&["years", "mill.toml", "--part", "3/2"], "is not a part");
}

/// Parts of lives from several machines come to the bytes of one; what does not make a whole is named.
#[test]
fn parts_of_lives_come_to_the_bytes_of_one_machine() {
    let yard = Yard::new();
    let text = std::fs::read_to_string(yard.design("a.toml", "1 Ah ± 20 %")).unwrap();
    yard.file("a.toml", &format!("{text}{INDOORS}"));
    yard.file("b.toml", &format!("{text}{INDOORS}").replace("1 Ah", "2 Ah"));
    let years = |name: &str, more: &[&str]| {
        let design = format!("designs/{name}.toml");
        let args = ["years", &design, "--years", "2", "--trials", "40", "--weigh-care", "--quiet"];
        yard.run(&[&args[..], more].concat())
    };
    let done = |said: Said| assert_eq!(said.code, Some(0), "{said:?}");
    done(years("a", &["--out", "whole"]));
    for k in ["1/4", "2/4", "3/4"] {
        done(years("a", &["--part", k, "--out", "parts"]));
    }
    let gather =
        |folders: &[&str]| yard.run(&[&["gather"][..], folders, &["--out", "joined", "--quiet"]].concat());
    let refused = |said: Said, words: &str| {
        assert!(said.code == Some(1) && said.err.contains(words), "expected `{words}`: {said:?}");
    };
    refused(gather(&["parts"]), "missing: part 4/4; make them with: stilldays years designs/a.toml");
    // The last part has no block of three: it is there all the same.
    done(years("a", &["--part", "4/4", "--out", "elsewhere"]));
    let again = yard.run(&[
        "years",
        "designs/a.toml",
        "--years",
        "2",
        "--trials",
        "40",
        "--weigh-care",
        "--part",
        "4/4",
        "--out",
        "elsewhere",
    ]);
    assert!(again.code == Some(0) && again.out.contains("is finished already"), "{again:?}");
    done(gather(&["parts", "elsewhere"]));
    yard.tree("whole").assert_same(&yard.tree("joined"), "four parts of three blocks");

    done(years("a", &["--part", "4/4", "--out", "twice"]));
    refused(gather(&["parts", "elsewhere", "twice"]), "are the same part");
    done(years("b", &["--part", "4/4", "--out", "other"]));
    refused(gather(&["parts", "other"]), "of `stilldays years designs/a.toml");
    let status = yard.run(&["gather", "parts", "elsewhere", "--status"]);
    assert!(status.code == Some(2) && status.err.contains("without --status"), "{status:?}");
    let lives = yard.path("parts/part-1-of-4/a/lives");
    let whole = std::fs::read(&lives).unwrap();
    std::fs::write(&lives, &whole[..whole.len() - 9]).unwrap();
    refused(gather(&["parts", "elsewhere"]), "part 1/4");
    std::fs::write(&lives, &whole).unwrap();
    let text = std::fs::read_to_string(yard.path("designs/a.toml")).unwrap();
    yard.file("a.toml", &text.replace("3 W", "4 W"));
    refused(gather(&["parts", "elsewhere"]), "have changed since");
}
