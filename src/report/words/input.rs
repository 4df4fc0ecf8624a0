//! Sentences on what the weather files leave open.

use crate::report::number;
use crate::tally::{InputRange, Meets, Summary};
use crate::weather::input::{InputKind, WeatherInput};

/// `one typical year like this`, `3 real years like these`.
pub(crate) fn files(r: &InputRange) -> String {
    let kind = match r.kind {
        InputKind::Typical => "typical",
        InputKind::Real => "real",
        InputKind::Invented => "invented",
    };
    match r.files {
        1 => format!("one {kind} year like this"),
        n => format!("{n} {kind} years like these"),
    }
}

/// `0.6 to 1.6`: still days a month, or minutes, with at most so many decimals. The decimals are those that half the range
/// supports.
pub(crate) fn range([low, high]: [f64; 2], most: usize) -> String {
    let decimals = number::decimals(0.5 * (high - low), most).max(usize::from(high < 9.5 && most > 0));
    format!("{} to {}", number::fixed(low, decimals), number::fixed(high, decimals))
}

/// `80 %`.
pub(crate) fn coverage(r: &InputRange) -> String {
    number::percent(r.coverage)
}

/// What the weather files leave open about still days, in one sentence.
pub fn input_verdict(s: &Summary) -> Option<String> {
    let r = s.weather_input.as_ref()?;
    Some(format!(
        "From {}, gardens of such places see {} still days a month ({}).",
        files(r),
        range(r.still_days_per_month, 2),
        coverage(r)
    ))
}

/// What the files are, and how much less better ones would leave open: `One typical year. From three real years of the place
/// the range would be 1.9 to 2.7, from ten 2.1 to 2.5.`
pub fn weather_files(s: &Summary) -> Option<String> {
    let r = s.weather_input.as_ref()?;
    let files = files(r);
    let files =
        files.trim_end_matches(" like this").trim_end_matches(" like these").replacen("one", "One", 1);
    let more: Vec<String> = r
        .still_days_per_month_from_real_years
        .iter()
        .enumerate()
        .map(|(i, (n, still))| {
            let would = if i == 0 { " real years of the place the range would be" } else { "" };
            format!("{}{would} {}", spelled(*n), range(*still, 2))
        })
        .collect();
    Some(match more.is_empty() {
        true => format!("{files}."),
        false => format!("{files}. From {}.", more.join(", from ")),
    })
}

fn spelled(n: usize) -> String {
    match n {
        3 => "three".to_owned(),
        10 => "ten".to_owned(),
        n => n.to_string(),
    }
}

/// What is added to a verdict on the wish that the weather files leave open; nothing where they do not, or where the
/// trials have not settled it themselves.
pub(crate) fn may_turn(s: &Summary) -> Option<String> {
    let r = s.weather_input.as_ref()?;
    let open = !r.verdict_holds && s.season.wish.meets != Meets::Unsure;
    open.then(|| {
        format!(
            "The weather leaves that open: from {}, {} of years keep to it in gardens of such places ({}).",
            files(r),
            years(r.years_met),
            coverage(r)
        )
    })
}

/// `82 to 99 %`: a share of years.
pub(crate) fn years([low, high]: [f64; 2]) -> String {
    format!("{:.0} to {}", 100.0 * low, number::percent(high))
}

/// What the files of a design are, and whether others would tell more: for `check`, which simulates too little to say how much.
pub fn more_weather(input: WeatherInput) -> String {
    match (input.kind, input.files) {
        (InputKind::Invented, _) => {
            "invented from monthly means. A measured typical year tells more, and three real years tell more than that"
                .to_owned()
        }
        (InputKind::Typical, 1) => {
            "one typical year. Three real years of the place tell more than any typical year, and ten much more".to_owned()
        }
        (InputKind::Typical, n) => format!(
            "{n} typical years, which count as one here. Three real years of the place tell more, and ten much more"
        ),
        (InputKind::Real, 1) => {
            "one real year, taken as it was: dull or bright, it stands for the place. A typical year tells more, \
             and three real years tell more than that"
                .to_owned()
        }
        (InputKind::Real, 2) => "2 real years. A third tells more than any typical year".to_owned(),
        (InputKind::Real, n) => format!("{n} real years: more than any typical year tells"),
    }
}
