//! Results for machines: JSON and CSV.

use super::{fixture, fixture_days};
use stilldays::report::{csv, json};
use stilldays::study::batch::BatchSummary;
use stilldays::study::batch::batch_summary::{DesignRow, Failed, Unfinished, link};
use stilldays::study::compare::Comparison;
use stilldays::study::remedies::{By, Refused, Remedies};
use stilldays::tally::Summary;

#[test]
fn json_has_the_promised_fields_and_reads_back() {
    let s = fixture::with_battery();
    let bytes = json::bytes(&s);
    let v: serde_json::Value = serde_json::from_slice(&bytes).unwrap();
    for path in [
        "/schema",
        "/run/trials",
        "/run/days",
        "/run/seed",
        "/run/version",
        "/design/title",
        "/design/file",
        "/design/sha256",
        "/weather/file",
        "/weather/sha256",
        "/weather/latitude_deg",
        "/weather/longitude_deg",
        "/weather/ghi_kwh_m2",
        "/weather/dni_kwh_m2",
        "/season/days",
        "/months/0/month",
        "/months/0/days",
        "/months/0/still_days/mean",
        "/months/0/still_days/se",
        "/months/0/still_days/p10",
        "/months/0/still_days/p50",
        "/months/0/still_days/p90",
        "/months/0/still_days/at_least/1",
        "/months/0/still_days/at_least/3",
        "/months/0/still_days/at_least/7",
        "/months/0/still_days/histogram/31",
        "/months/0/short_days/mean",
        "/months/0/dusk_run_min/mean",
        "/months/0/dusk_run_min/p50",
        "/months/0/dusk_run_min/meets_wish",
        "/season/still_days_per_month/mean",
        "/season/still_days_per_month/se",
        "/season/dusk_run_min/mean",
        "/season/longest_still_spell/mean",
        "/battery/daily_depth/p10",
        "/battery/daily_depth/histogram",
        "/battery/cycles_per_year",
        "/battery/equivalent_full_cycles_per_year",
        "/battery/cycle_depth_histogram",
        "/ledger/worst_residual_wh",
        "/warnings/0",
    ] {
        assert!(v.pointer(path).is_some_and(|x| !x.is_null()), "{path}");
    }
    assert_eq!(v["schema"], "stilldays.summary/1");
    let back: Summary = serde_json::from_slice(&bytes).unwrap();
    assert_eq!(json::bytes(&back), bytes, "every number survives the way out and back");
}

#[test]
fn what_cannot_be_computed_is_null_or_empty_never_zero() {
    let s = fixture::never_still();
    let v: serde_json::Value = serde_json::from_slice(&json::bytes(&s)).unwrap();
    assert!(v["season"]["still_days_per_month"]["se"].is_null());
    let text = String::from_utf8(csv::months(&s)).unwrap();
    assert!(text.contains("season,still_days_per_month,se,,d\n"), "{text}");
}

#[test]
fn csv_holds_every_number_once() {
    let s = fixture::with_battery();
    let months = rows(&csv::months(&s));
    // A mean takes 4 rows with its error and interval, any other number 3. A count of days: its mean, three percentiles, three
    // chances. Dusk run: its mean, three percentiles, evenings that meet the wish and those
    // that the hours cut off, with their error.
    let (mean, days, dusk) = (4, 4 + 6 * 3, 4 + 3 * 3 + 4 + 4);
    // Season: days, wanted, jet, per month, four counts, dusk run, causes, bearable, years that meet the wish and each of its three
    // parts, water lost and three percentiles, water lost if never low; what places see of three quantities.
    let season = 1 + 1 + mean + mean + 4 * days + dusk + 5 * 3 + mean + 4 * 3 + mean + 3 * 3 + mean + 3 * 2;
    // Month: also causes of still days, two irradiations, three percentiles of the day on which a full basin is low.
    let month = 1 + 1 + mean + 2 * days + dusk + 5 * 3 + 5 * 3 + 2 * 3 + 3 * 3;
    assert_eq!(months.len(), season + 7 * month);
    let distributions = rows(&csv::distributions(&s));
    assert_eq!(distributions.len(), 60 + 32 + 80 + 32 + 37 + 20 + 20 + 7 * (32 + 32 + 37));
    let mut seen = std::collections::BTreeSet::new();
    for row in &months {
        assert!(seen.insert(row[..3].to_vec()), "twice: {row:?}");
    }
    let row = months.iter().find(|r| r[0] == "04" && r[1] == "still_days" && r[2] == "mean").unwrap();
    assert_eq!(row[3].parse::<f64>().unwrap(), s.months[0].still_days.mean);
}

#[test]
fn a_trace_has_a_row_a_minute() {
    let trace = &fixture_days::traces()[0];
    let origin = csv::Origin {
        version: "0.1.0",
        seed: 7,
        trials: "trial 3",
        design_sha256: "ab",
        weather_sha256: "cd",
        invented: true,
    };
    let bytes = csv::day(trace, &origin);
    let text = String::from_utf8(bytes.clone()).unwrap();
    let head = "# stilldays 0.1.0 · seed 7 · trial 3 · design sha256 ab · weather sha256 cd\n# the weather is invented";
    assert!(text.starts_with(head), "{text}");
    for column in ["air_c", "wind_m_s", "battery_c", "frost_lock", "water_l", "rain_of_day_mm", "rule"] {
        assert!(text.contains(column), "{column}");
    }
    let mut reader = ::csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(bytes.as_slice());
    assert_eq!(reader.records().map(Result::unwrap).count(), trace.minutes.len());
}

/// A spreadsheet treats a cell that begins like this as a formula.
#[test]
fn text_that_a_spreadsheet_would_run_is_marked_as_text() {
    let signs = ["=1+1", "+1", "-1+1", "@SUM(1)", "\t=1", "\r=1", " =1", "＝1", "=HYPERLINK(\"a\",\"b\")"];
    let mut cells = 0;
    for text in signs {
        let mut s = fixture::with_battery();
        s.design.title = text.to_owned();
        s.design.file = text.to_owned();
        let row = DesignRow::of(&s, link("-1/report.html".as_ref()));
        let morning = BatchSummary {
            schema: "",
            version: "",
            folder: text.to_owned(),
            seed: 1,
            trials: Some(1),
            until_days: None,
            failed: vec![Failed { file: text.to_owned(), reason: text.to_owned() }],
            unfinished: vec![Unfinished { file: text.to_owned(), trials_done: 1 }],
            designs: vec![row],
            passed_over: Vec::new(),
        };
        let comparison = Comparison { schema: "", designs: vec![s.clone()], differences: Vec::new() };
        let refused = vec![Refused { name: text.to_owned(), why: text.to_owned() }];
        let remedies = Remedies {
            schema: "",
            design: s.clone(),
            by: By::StillDays,
            ranked: Vec::new(),
            settled: true,
            trials: 1,
            refused,
        };
        for table in [
            csv::ranking(&morning),
            csv::compare(&comparison),
            csv::remedies(&remedies),
            csv::months(&s),
            csv::distributions(&s),
        ] {
            for cell in rows(&table).concat() {
                let number = cell.parse::<f64>().is_ok();
                assert!(
                    number || !cell.trim_start().starts_with(['=', '+', '-', '@', '\t', '＝']),
                    "{cell:?}"
                );
                cells += usize::from(cell.contains(text.trim()));
            }
        }
    }
    assert!(cells >= 6 * signs.len(), "the text itself is there: {cells}");
    let (mut minus, mut s) = (fixture::with_battery(), fixture::with_battery());
    minus.season.still_days_per_month.mean = -0.5;
    s.design.file = "a-b=c".to_owned();
    let table = csv::compare(&Comparison { schema: "", designs: vec![minus, s], differences: Vec::new() });
    let table = String::from_utf8(table).unwrap();
    assert!(table.contains(",-0.5,") && table.contains(",a-b=c,"), "numbers and inner signs stay: {table}");
}

fn rows(bytes: &[u8]) -> Vec<Vec<String>> {
    let mut reader = ::csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(bytes);
    reader.records().map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect()
}
