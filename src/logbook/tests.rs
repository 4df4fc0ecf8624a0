//! Logbooks as they are written and as they go wrong.

use super::{Clock, Date, Entry, Logbook, Sky, Test, What, parse, starter};
use std::path::Path;

const HEAD: &str = "# clock: daylight saving\ndate,time,what,value,sky,test,remark\n";

fn read(text: &str) -> Result<Logbook, String> {
    parse(Path::new("log.csv"), text.as_bytes()).map_err(|p| p.to_string())
}

fn one(row: &str) -> Entry {
    let logbook = read(&format!("{HEAD}{row}\n")).unwrap_or_else(|p| panic!("{p}"));
    assert_eq!(logbook.entries.len(), 1);
    logbook.entries[0].clone()
}

#[test]
fn an_entry_is_read_in_base_units_and_standard_time() {
    let e = one("2026-06-03,22:05,stopped,± 30 min,clear,,\"after dinner, late\"");
    assert_eq!((e.what.clone(), e.minute, e.sd), (What::Stopped, Some(21.0 * 60.0 + 5.0), 15.0));
    assert_eq!((e.sky, e.remark.as_str()), (Some(Sky::Clear), "after dinner, late"));
    let e = one("2026-06-03,9:40 PM,Battery  Voltage,6400 mV ± 0.2 V,,Pump unplugged");
    assert_eq!((e.minute, e.value, e.sd, e.sky), (Some(20.0 * 60.0 + 40.0), Some(6.4), 0.1, None));
    assert_eq!(e.tests, [Test::PumpUnplugged]);
    // A jet's error is a share of it.
    assert!((one("2026-06-03,13:00,jet,30 cm ± 6 cm").sd - 0.1).abs() < 1e-12);
    assert!((one("2026-06-03,13:00,jet,30 cm").sd - 0.1).abs() < 1e-12);
    // A range: half-width over the root of three.
    assert!((one("2026-06-03,,ran hours,5 to 6 h").sd - 1.0 / 12f64.sqrt()).abs() < 1e-12);
    let e = one("2026-06-03,,pump current,280 mA,,on 6 V");
    assert_eq!((e.tests.clone(), e.minute), (vec![Test::OnSupply(6.0)], None));
    let e = one("2026-06-03,,battery.capacity,2600 mAh ± 0.1 Ah");
    assert_eq!((e.what, e.value, e.sd), (What::Quantity("battery.capacity".into()), Some(2.6), 0.05));
}

#[test]
fn spreadsheets_may_write_semicolons_and_a_byte_order_mark_and_any_order() {
    let text = "\u{feff}# clock: standard\r\nwhat;date;time\r\nstopped;2026-06-04;21:40\r\nruns;2026-06-03;12:00\r\n;;\r\n";
    let logbook = read(text).unwrap_or_else(|p| panic!("{p}"));
    let dates: Vec<String> = logbook.entries.iter().map(|e| e.date.to_string()).collect();
    assert_eq!(dates, ["2026-06-03", "2026-06-04"]);
    assert_eq!(logbook.entries[1].minute, Some(21.0 * 60.0 + 40.0));
    for head in ["# clock: standard;;", "\"# clock: standard\";;", "#clock:standard,,\t"] {
        let text = format!("{head}\r\nDate;Time;What\r\n2026-06-04;9:40 pm;Stopped\r\n");
        let logbook = read(&text).unwrap_or_else(|p| panic!("{p}"));
        assert_eq!(logbook.entries[0].minute, Some(21.0 * 60.0 + 40.0), "{head}");
    }
}

/// A logbook as a phone and a spreadsheet of another country wrote it says the same as one written by the guide.
#[test]
fn a_sloppy_logbook_says_the_same_as_a_tidy_one() {
    let tidy = "# clock: daylight saving
date,time,what,value,sky,test,remark
2026-06-03,13:10,short-circuit current,0.85 A,clear,panel to the sun,
2026-06-03,21:10,stopped,,clear,,\"late, after dinner\"
2026-06-04,,did not stop,,overcast,,
2026-06-05,,ran hours,5.5 to 6.5 h,broken,,
2026-06-05,12:00,jet height,30 cm ± 3 cm,,battery disconnected + panel to the sun,
2026-06-12,,battery.capacity,2.6 Ah,,,
2026-06-25,,pump current,280 mA,,on 6.5 V,
";
    let sloppy = "\u{feff}\"# Clock: Daylight Saving Time\";;;;;;\r\n\r\nNotes;Value;What;Date;Test;Time;Sky\r\n\
        ;0,85A;Short Circuit Current;03.06.2026;Panel to the Sun;13.10; Sunny \r\n\
        \"late, after dinner\";;STOPPED;2026-6-3;;9:10 p.m.;clear sky\r\n;;;;;;\r\n   \r\n\
        ;;didn't stop;4 June 2026;;;Grey\r\n\
        ;5,5-6,5 H;Ran  hours;5.6.2026;;;sun and clouds\r\n\
        ;about 30 cm ± 3 cm;jet;2026-06-05 12:00:00;Battery Disconnected & panel to the sun;;?\r\n\
        ;\"2,6 AH\";Battery.Capacity;6/12/2026;;;\r\n\
        ;280 ma;pump_current;6/25/2026;on 6,5V;;";
    let (tidy, sloppy) = (read(tidy), read(sloppy));
    let (tidy, sloppy) = (tidy.unwrap_or_else(|p| panic!("{p}")), sloppy.unwrap_or_else(|p| panic!("{p}")));
    let said = |l: &Logbook| -> Vec<Entry> {
        l.entries.iter().map(|e| Entry { line: 0, text: String::new(), ..e.clone() }).collect()
    };
    assert_eq!(said(&tidy), said(&sloppy));
    assert!(sloppy.warnings.is_empty(), "{:?}", sloppy.warnings);
    let two = "# clock: standard\ndate,time,what\n6/3/2026,21:10,stopped\n";
    let problem = read(two).expect_err("June or March");
    assert!(problem.contains("`6/3/2026` can mean two days") && problem.contains("2026-06-03"), "{problem}");
    assert_eq!(
        read(&two.replace('\n', "\r").replace("6/3/2026", "2026-06-03")).map(|l| l.entries.len()),
        Ok(1)
    );
}

/// Of thousands of lines the one error is said, and of hundreds of warnings some.
#[test]
fn a_logbook_far_too_long_is_answered_in_short() {
    let rows = |n: usize| HEAD.to_owned() + &"2026-06-03,21:40,stopped\n".repeat(n);
    let said = read(&rows(10_000)).expect_err("too long");
    assert!(said.contains("more than 1000 entries") && !said.contains("twice"), "{said}");
    let warnings = read(&rows(300)).unwrap_or_else(|p| panic!("{p}")).warnings;
    assert!(warnings.len() == 21 && warnings.iter().any(|w| w.contains("279 more")), "{warnings:?}");
}

#[test]
fn the_clock_may_change_with_the_season() {
    let clock = Clock::Between(87, 297);
    assert_eq!([86, 87, 296, 297].map(|d| clock.ahead_min(d, 720.0)), [0, 60, 60, 0]);
    let south = Clock::Between(276, 94);
    assert_eq!([93, 94, 275, 276, 364].map(|d| south.ahead_min(d, 720.0)), [60, 0, 0, 60, 60]);
    // Half past midnight of the day of the change still belongs to the time before.
    assert_eq!([87, 88, 297, 298].map(|d| clock.ahead_min(d, 30.0)), [0, 60, 60, 0]);
    assert_eq!([93, 94, 95, 276, 277].map(|d| south.ahead_min(d, 30.0)), [60, 60, 0, 0, 60]);
    let head = "# clock: daylight saving from 03-29 to 10-25\ndate,time,what\n";
    let night =
        read(&format!("{head}2026-10-25,00:30,no jet\n2026-10-25,01:30,no jet\n2026-10-25,03:30,no jet\n"));
    let night = night.unwrap_or_else(|p| panic!("{p}"));
    assert_eq!(night.entries.iter().map(|e| e.minute).collect::<Vec<_>>(), [-30.0, 30.0, 210.0].map(Some));
    assert!(night.warnings.len() == 1 && night.warnings[0].contains("twice"), "{:?}", night.warnings);
}

#[test]
fn days_of_the_calendar_count_on() {
    let mut date = Date::parse("1999-12-30").expect("a day");
    let first = date.number();
    for k in 0..3000 {
        assert_eq!(date.number(), first + k);
        assert_eq!(date.next().previous(), date);
        assert_eq!(Date::parse(&date.to_string()), Some(date));
        date = date.next();
    }
    for wrong in
        ["2026-02-29", "2026-13-01", "26-06-03", "2026-6-3", "03.06.2026", "2026-06-31", "1899-01-01", ""]
    {
        assert_eq!(Date::parse(wrong), None, "{wrong}");
    }
    assert_eq!(Date::parse("2028-02-29").map(Date::day_of_year), Some(58));
}

/// What is wrong is said with its line, what was found and what would do.
#[test]
fn mistakes_are_named_with_place_and_cure() {
    let row = |row: &str| format!("{HEAD}{row}\n");
    for (text, said) in [
        (row("2026-06-31,21:40,stopped"), vec!["`2026-06-31` is not a day", "log.csv:3:1", "2026-06-03"]),
        (row("2026-06-03,25:00,stopped"), vec!["`25:00` is not a time of day", "log.csv:3:12", "21:40"]),
        (row("2026-06-03,,stopped"), vec!["`stopped` needs a time", "missing"]),
        (
            row("2026-06-03,21:40,stoped"),
            vec!["`stoped` is not something to note", "did you mean `stopped`?"],
        ),
        (row("2026-06-03,12:00,jet"), vec!["the value is missing", "30 cm"]),
        (row("2026-06-03,,jet,30 cm"), vec!["needs a time", "on 6 V"]),
        (row("2026-06-03,12:00,jet,0 cm"), vec!["no such reading", "`no jet`"]),
        (row("2026-06-03,12:00,jet,6 V"), vec!["`V` is a unit of voltage", "log.csv:3:24"]),
        (row("2026-06-03,12:00,jet,30 cm,cloudy"), vec!["`cloudy` is not a sky", "clear, broken"]),
        (
            row("2026-06-03,12:00,jet,30 cm,clear,unplugged"),
            vec!["`unplugged` is not a test", "pump unplugged"],
        ),
        (row("2026-06-03,12:00,jet,30 cm,clear,pump unplugged"), vec!["says nothing about this reading"]),
        (row("2026-06-03,12:00,still"), vec!["speaks of a whole day"]),
        (row("2026-06-03,12:00,runs,5 V"), vec!["has no value"]),
        (row("2026-06-03,12:00,stopped,5 V"), vec!["not the uncertainty of a time"]),
        (row("2026-06-03,12:00,\"jet,30 cm"), vec!["a quote is not closed"]),
        ("date,time,what\n2026-06-03,21:40,stopped\n".into(), vec!["which clock", "# clock: standard"]),
        ("# clock: summer\ndate,what\n2026-06-03,still\n".into(), vec!["`summer` is not a clock"]),
        ("date,tme,what\n".into(), vec!["`tme` is not a column", "did you mean `time`?"]),
        ("day,when\n2026-06-03,x\n".into(), vec!["the column `date` is missing"]),
        ("# only a comment\n".into(), vec!["no line with the names of the columns"]),
        (HEAD.into(), vec!["no entries"]),
    ] {
        let problems = read(&text).expect_err(&text);
        for words in said {
            assert!(problems.contains(words), "{words} not in\n{problems}");
        }
    }
    let two = read(&row("2026-06-03,25:00,stopped\n2026-06-03,21:00,stoped")).expect_err("two mistakes");
    assert!(two.contains("25:00") && two.contains("stoped"), "{two}");
}

#[test]
fn the_same_line_twice_is_warned_about() {
    let logbook = read(&format!("{HEAD}2026-06-03,21:40,stopped\n2026-06-03,21:40,stopped,,clear\n"));
    let warnings = logbook.unwrap_or_else(|p| panic!("{p}")).warnings;
    assert!(warnings.len() == 1 && warnings[0].contains("the same as line 3"), "{warnings:?}");
}

/// Entries that cannot both be right are warned about, by line; those that can are not.
#[test]
fn contradictions_are_named_by_line() {
    for (a, b, why) in [
        ("2026-06-03,,did not stop", "2026-06-03,21:00,stopped", "stopped, and did not stop"),
        ("2026-06-03,22:30,stopped", "2026-06-03,21:00,stopped", "has one time"),
        ("2026-06-03,12:00,runs", "2026-06-03,12:01,no jet", "at the same time"),
        ("2026-06-03,18:00,stopped", "2026-06-03,21:00,jet,30 cm", "after it had stopped"),
        ("2026-06-03,12:00,started", "2026-06-03,9:00,runs", "before it first started"),
        ("2026-06-03,,still", "2026-06-03,,ran all day", "a still day"),
        ("2026-06-03,12:00,battery voltage,6.4 V", "2026-06-03,12:00,battery voltage,5.9 V", "two readings"),
        ("2026-06-03,12:00,jet,30 cm", "2026-06-03,12:00,jet,60 cm", "two readings"),
        (
            "2026-06-03,,pump current,280 mA,,on 6 V",
            "2026-06-03,,pump current,150 mA,,on 6 V",
            "two readings",
        ),
    ] {
        for (a, b) in [(a, b), (b, a)] {
            let warnings = read(&format!("{HEAD}{a}\n{b}\n")).unwrap_or_else(|p| panic!("{p}")).warnings;
            let said = warnings.join("\n");
            assert!(
                warnings.len() == 1 && said.contains("log.csv:4") && said.contains("contradicts line 3"),
                "{said}"
            );
            assert!(said.contains(why), "{said}");
        }
    }
    for (a, b) in [
        ("2026-06-03,,did not stop", "2026-06-04,21:00,stopped"),
        ("2026-06-03,21:30,stopped", "2026-06-03,21:00,stopped"),
        ("2026-06-03,12:00,runs", "2026-06-03,12:10,no jet"),
        ("2026-06-03,00:30,stopped", "2026-06-03,21:00,stopped"),
        ("2026-06-03,18:00,stopped", "2026-06-03,21:00,jet,30 cm,,battery disconnected"),
        ("2026-06-03,12:00,jet,30 cm", "2026-06-03,15:00,jet,60 cm"),
        ("2026-06-03,,pump current,280 mA,,on 6 V", "2026-06-03,,pump current,150 mA,,on 3 V"),
        ("2026-06-03,12:00,azimuth,355 deg", "2026-06-03,12:00,azimuth,5 deg"),
    ] {
        let warnings = read(&format!("{HEAD}{a}\n{b}\n")).unwrap_or_else(|p| panic!("{p}")).warnings;
        assert!(warnings.is_empty(), "{warnings:?}");
    }
}

/// Whatever a file holds, the reader answers and never panics.
#[test]
fn any_change_of_a_logbook_is_answered() {
    let whole = starter().into_bytes();
    arbtest::arbtest(|u| {
        let mut bytes = whole.clone();
        for _ in 0..u.int_in_range(1..=6)? {
            let at = u.choose_index(bytes.len())?;
            match u.int_in_range(0..=2)? {
                0 => bytes[at] = u.arbitrary()?,
                1 => bytes.insert(at, *u.choose(b"\",;\n#:+\xc2\xb1 9")?),
                _ => {
                    bytes.truncate(at.max(1));
                }
            }
        }
        match parse(Path::new("log.csv"), &bytes) {
            Ok(logbook) => assert!(!logbook.entries.is_empty()),
            Err(problems) => assert!(!problems.to_string().is_empty()),
        }
        Ok(())
    });
}
