//! The table of every chart, cell by cell, against the numbers in the page. Traces of single days are not in the page's
//! numbers; `files::a_trace_has_a_row_a_minute` checks these.

use super::fixture;
use serde_json::Value;
use stilldays::report::html;
use stilldays::units::System;

type Rows = Vec<Vec<String>>;

/// Tables within figures of a section, head first, each cell as text.
fn tables(page: &str, section: &str) -> Vec<Rows> {
    let body = page.split(&format!("<section id=\"{section}\"")).nth(1).unwrap();
    let body = body.split("</section>").next().unwrap();
    body.split("<figure>")
        .skip(1)
        .filter_map(|f| f.split("</figure>").next()?.split("<table>").nth(1))
        .map(rows)
        .collect()
}

fn rows(table: &str) -> Rows {
    let cell = |c: &str| c.split_once('>').unwrap().1.split("</t").next().unwrap().replace('\u{a0}', " ");
    let cells = |row: &str| {
        let row = row.split("</tr>").next().unwrap().replace("<th", "\0").replace("<td", "\0");
        row.split('\0').skip(1).map(cell).collect()
    };
    table.split("<tr>").skip(1).map(cells).collect()
}

/// Number in a text, and half the step of its last digit.
fn read(text: &str) -> (f64, f64) {
    let text = text.trim().replace('−', "-").replace(',', "");
    let decimals = text.split_once('.').map_or(0, |(_, d)| d.len() as i32);
    (
        text.parse().unwrap_or_else(|_| panic!("no number: {text:?}")),
        0.5 * libm::exp10(f64::from(-decimals)) * (1.0 + 1e-9),
    )
}

/// Compares cells with values and counts them.
#[derive(Default)]
struct Checker(usize);

impl Checker {
    /// A number; in per cent if the cell says so.
    fn number(&mut self, cell: &str, value: f64) {
        // An interval in brackets, or an error behind the number, is checked in `number` and by the coverage of the figures.
        let cell = match (cell.find(" ("), cell.rfind(')')) {
            (Some(from), Some(to)) => format!("{}{}", &cell[..from], &cell[to + 1..]),
            _ => cell.to_owned(),
        };
        let cell = match cell.split_once(" ± ") {
            Some((shown, error)) if error.ends_with(" %") => format!("{shown} %"),
            Some((shown, _)) => shown.to_owned(),
            None => cell,
        };
        self.0 += 1;
        if cell.starts_with("below ") {
            return assert!(value == 0.0, "{cell} for {value}");
        }
        let (text, scale) = cell.strip_suffix(" %").map_or((cell.as_str(), 1.0), |t| (t, 100.0));
        let value = value * scale;
        if let Some(bound) = text.strip_prefix("&lt; ") {
            return assert!(value > 0.0 && value < read(bound).0, "{cell} for {value}");
        }
        if let Some(bound) = text.strip_prefix("&gt; ") {
            return assert!(value < 100.0 && value > read(bound).0, "{cell} for {value}");
        }
        let (shown, half) = read(text);
        assert!((shown - value).abs() <= half, "{cell} for {value}");
    }

    /// A mean and its error, rounded up: about twice the standard error.
    fn estimate(&mut self, cell: &str, mean: &Value, se: &Value) {
        if cell.contains('(') || cell.starts_with("below ") {
            return self.number(cell, mean.as_f64().unwrap());
        }
        let scale = if cell.ends_with(" %") { 100.0 } else { 1.0 };
        let bare = cell.trim_end_matches(" %");
        match (bare.split_once(" ± "), se.as_f64().filter(|se| *se > 0.0)) {
            (Some((shown, error)), Some(se)) => {
                self.number(&format!("{shown}{}", &cell[bare.len()..]), mean.as_f64().unwrap());
                let ((error, half), exact) = (read(error), 2.0 * se * scale);
                assert!(
                    error - exact > -0.05 * exact - 1e-6 && error - exact <= 2.0 * half + 0.1 * exact,
                    "{cell} for 2 · {se}"
                );
            }
            (None, None) => self.number(cell, mean.as_f64().unwrap()),
            (_, se) => panic!("{cell} for an error of {se:?}"),
        }
    }

    fn json(&mut self, cell: &str, value: &Value) {
        self.number(cell, value.as_f64().unwrap_or_else(|| panic!("{cell} for {value}")));
    }
}

/// Share of a histogram's counts from each bin on.
fn from_each(histogram: &Value) -> Vec<f64> {
    let counts: Vec<f64> = histogram.as_array().unwrap().iter().map(|n| n.as_f64().unwrap()).collect();
    let total: f64 = counts.iter().sum();
    (0..counts.len()).map(|i| counts[i..].iter().sum::<f64>() / total).collect()
}

const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

fn month(m: &Value) -> &'static str {
    MONTHS[m["month"].as_u64().unwrap() as usize - 1]
}

#[test]
fn the_table_of_every_chart_holds_the_numbers_of_the_summary() {
    for (name, summary) in [
        ("with a battery", fixture::with_battery()),
        ("without", fixture::without_battery()),
        ("never still", fixture::never_still()),
    ] {
        let page = html::run(&summary, &[], System::Si);
        let data = page.split("id=\"data\">").nth(1).unwrap().split("</script>").next().unwrap();
        let s: Value = serde_json::from_str(data).unwrap();
        let months = s["months"].as_array().unwrap();
        let mut c = Checker::default();
        let mut charts = 0;
        charts += still(&mut c, &tables(&page, "still"), &s, months);
        // The hours stand beside the dusk run, in its section.
        let evening = tables(&page, "dusk");
        charts += dusk(&mut c, &[&evening[..1], &evening[2..]].concat(), &s, months);
        charts += hours(&mut c, &evening[1..2], &s);
        charts += water(&mut c, &tables(&page, "water"), &s["water"]["full_basin"]["months"]);
        charts += causes(&mut c, &tables(&page, "causes"), &s, months);
        if !s["battery"].is_null() {
            charts += battery(&mut c, &tables(&page, "battery"), &s["battery"]);
        }
        if s["shares"].as_array().is_some_and(|shares| !shares.is_empty()) {
            charts += shares(&mut c, &tables(&page, "unknowns"), &s);
        }
        charts += sampled(&mut c, &tables(&page, "trust"), &s);
        let all = page
            .split("<figure>")
            .skip(1)
            .filter(|f| f.split("</figure>").next().unwrap().contains("<table>"));
        assert_eq!(all.count(), charts, "{name}: a chart without a check");
        println!("{name}: {} cells of {charts} charts", c.0);
        assert!(c.0 > 800, "{name}: {}", c.0);
    }
}

fn still(c: &mut Checker, t: &[Rows], s: &Value, months: &[Value]) -> usize {
    let season = std::iter::once(("Season", &s["season"]));
    let list: Vec<(&str, &Value)> = months.iter().map(|m| (month(m), m)).chain(season).collect();
    assert_eq!(t[0].len(), 1 + list.len());
    for (row, (name, m)) in t[0][1..].iter().zip(list) {
        assert_eq!(row[0], name);
        c.json(&row[1], &m["days"]);
        let (still, short) = (&m["still_days"], &m["short_days"]);
        c.estimate(&row[2], &still["mean"], &still["se"]);
        for (cell, key) in row[3..6].iter().zip(["p10", "p50", "p90"]) {
            c.json(cell, &still[key]);
        }
        for (cell, least) in row[6..9].iter().zip(["1", "3", "7"]) {
            c.json(cell, &still["at_least"][least]);
        }
        c.estimate(&row[9], &short["mean"], &short["se"]);
    }
    for (d, row) in t[1][1..].iter().enumerate() {
        assert_eq!(row[0], d.to_string());
        c.json(&row[1], &s["season"]["worst_month"]["histogram"][d]);
        c.json(&row[2], &s["season"]["longest_still_spell"]["histogram"][d]);
    }
    2
}

/// Days after which a full basin is low, by month of filling.
fn water(c: &mut Checker, t: &[Rows], months: &Value) -> usize {
    let months = months.as_array().unwrap();
    assert_eq!(t[0].len(), 1 + months.len());
    for (row, m) in t[0][1..].iter().zip(months) {
        assert_eq!(row[0], month(m));
        for (cell, key) in row[1..].iter().zip(["p10", "p50", "p90"]) {
            let day = m[key]["day"].as_u64().map_or("later".to_owned(), |d| d.to_string());
            assert_eq!(cell.split(' ').next(), Some(&day[..]), "{cell}");
            c.0 += 1;
        }
    }
    1
}

fn dusk(c: &mut Checker, t: &[Rows], s: &Value, months: &[Value]) -> usize {
    let of = |m: &Value| from_each(&m["dusk_run_min"]["histogram"]);
    let columns: Vec<Vec<f64>> = std::iter::once(of(&s["season"])).chain(months.iter().map(of)).collect();
    let step = s["season"]["dusk_run_min"]["step_min"].as_f64().unwrap();
    for (i, row) in t[0][1..].iter().enumerate() {
        c.number(&row[0], i as f64 * step);
        assert_eq!(row.len(), 1 + columns.len());
        for (cell, column) in row[1..].iter().zip(&columns) {
            c.number(cell, column[i]);
        }
    }
    let list = months.iter().chain([&s["season"]]);
    assert_eq!(t[1].len(), 2 + months.len());
    for (row, m) in t[1][1..].iter().zip(list) {
        let d = &m["dusk_run_min"];
        c.estimate(&row[1], &d["mean"], &d["se"]);
        for (cell, key) in row[2..5].iter().zip(["p10", "p50", "p90"]) {
            c.json(cell, &d[key]);
        }
        c.estimate(&row[5], &d["meets_wish"], &d["meets_wish_se"]);
    }
    2
}

fn hours(c: &mut Checker, t: &[Rows], s: &Value) -> usize {
    let map = &s["hours"];
    let first = map["first_hour"].as_i64().unwrap();
    let slots: Vec<usize> = t[0][0][1..]
        .iter()
        .map(|h| (h.trim_end_matches(" h").parse::<i64>().unwrap() - first).rem_euclid(24) as usize)
        .collect();
    let rows = map["rows"].as_array().unwrap();
    assert_eq!(t[0].len(), 1 + rows.len());
    for (row, r) in t[0][1..].iter().zip(rows) {
        for (cell, &slot) in row[1..].iter().zip(&slots) {
            match r["wanted_share"][slot].as_f64() {
                Some(wanted) if wanted > 0.0 => c.json(cell, &r["jet_share"][slot]),
                _ => assert_eq!(cell, "–"),
            }
        }
    }
    1
}

fn causes(c: &mut Checker, t: &[Rows], s: &Value, months: &[Value]) -> usize {
    let words = |key: &str| stilldays::report::words::cause(key);
    for (rows, key, per) in
        t.iter().zip(["causes", "still_days_by_cause"]).zip([60.0, 1.0]).map(|((t, k), p)| (t, k, p))
    {
        for row in &rows[1..] {
            let cause = months[0][key].as_object().unwrap().keys().find(|k| words(k) == row[0]).unwrap();
            for (cell, m) in row[1..].iter().zip(months) {
                c.number(cell, m[key][cause].as_f64().unwrap_or(0.0) / per);
            }
        }
        let found = |k: &str| rows[1..].iter().any(|r| r[0] == words(k));
        for (cause, minutes) in s["season"]["causes"].as_object().unwrap() {
            assert!(key != "causes" || minutes.as_f64() <= Some(0.0) || found(cause), "{cause} is left out");
        }
    }
    t.len()
}

fn battery(c: &mut Checker, t: &[Rows], b: &Value) -> usize {
    let weeks = b["weeks"].as_array().unwrap();
    assert_eq!(t[0].len(), 1 + weeks.len());
    for (row, w) in t[0][1..].iter().zip(weeks) {
        let keys = ["sunset_p10", "sunset_p50", "sunset_p90", "low_p10", "low_p50", "low_p90"];
        for (cell, key) in row[1..].iter().zip(keys) {
            c.json(cell, &w[key]);
        }
    }
    let depth = b["daily_depth"]["histogram"].as_array().unwrap();
    let total: f64 = depth.iter().map(|n| n.as_f64().unwrap()).sum();
    assert_eq!((t[1].len(), t[2].len()), (21, 21));
    for (i, (days, cycles)) in t[1][1..].iter().zip(&t[2][1..]).enumerate() {
        assert_eq!((&days[0], &cycles[0]), (&format!("{} to {} %", 5 * i, 5 * i + 5), &days[0].clone()));
        c.number(&days[1], depth[i].as_f64().unwrap() / total);
        c.json(&cycles[1], &b["cycle_depth_histogram"][i]);
    }
    3
}

fn shares(c: &mut Checker, t: &[Rows], s: &Value) -> usize {
    let list = s["shares"].as_array().unwrap();
    for (rows, key) in t.iter().zip(["still_days", "dusk_run"]) {
        assert_eq!(rows.len(), 1 + list.len());
        for row in &rows[1..] {
            let share = &list.iter().find(|x| x["key"] == row[0].as_str()).unwrap()[key];
            c.estimate(&row[1], &share["mean"], &share["se"]);
        }
    }
    2
}

fn sampled(c: &mut Checker, t: &[Rows], s: &Value) -> usize {
    let list = s["sampled"].as_array().unwrap();
    assert_eq!(t[0].len(), 1 + list.len());
    for (row, m) in t[0][1..].iter().zip(list) {
        assert_eq!(row[0], month(m));
        let (file, mean) = (m["file_ghi_kwh_m2_day"].as_f64().unwrap(), &m["sampled_ghi_kwh_m2_day"]);
        c.number(&row[1], file);
        c.estimate(&row[2], &mean["mean"], &mean["se"]);
        c.number(&row[3].replace('+', ""), mean["mean"].as_f64().unwrap() / file - 1.0);
        c.json(&row[4], &m["sampled_cov"]);
    }
    1
}
