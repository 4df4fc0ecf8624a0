//! What the explanations of a logbook say, in words.

use super::explanation::Explanation;
use super::parting::Parting;
use super::rivals::Weighed;
use crate::units::letters::{capital, small};

/// Weight and gain in ln evidence from which a fault is named (Kass & Raftery 1995, JASA 90:773-795, from memory: 3 is strong).
const NAMED_WEIGHT: f64 = 0.5;
const NAMED_GAIN: f64 = 3.0;

/// The verdict. `apart`: difference of ln evidence between two runs of the sound explanation; `doubted`: lines of the entries that agree with
/// no unit of the likeliest explanation; `parting`: what parts the first two.
pub fn verdict(weighed: &[Weighed], apart: f64, doubted: &[usize], parting: Option<&Parting>) -> String {
    let [first, second, ..] = weighed else {
        return match doubted {
            [] => "The logbook agrees with the design; no fault shows.".to_owned(),
            lines => format!("{} with no unit of the design.", agree(lines)),
        };
    };
    let sound = weighed.iter().find(|w| w.explanation == Explanation::Sound).map_or(0.0, |w| w.log_evidence);
    let named = first.weight > NAMED_WEIGHT && first.log_evidence - sound > NAMED_GAIN + apart;
    if first.explanation == Explanation::Sound && first.weight > NAMED_WEIGHT {
        return sound_first(weighed, first, doubted);
    }
    let reading = parting.and_then(|p| p.reading.as_deref());
    let all_the_same = against(doubted);
    if named {
        let sure = match reading {
            Some(reading) => format!(" To be sure, read: {reading}."),
            None => String::new(),
        };
        return format!(
            "Most likely {} ({:.0} % of the weight).{all_the_same}{sure}",
            first.explanation.words(),
            100.0 * first.weight,
        );
    }
    let parts = match reading {
        Some(reading) => format!("What parts them best: {reading}."),
        None => "No single reading of the field card parts them; more evenings may.".to_owned(),
    };
    format!(
        "Either {} or {}: these entries cannot tell.{all_the_same} {parts}",
        first.explanation.words(),
        second.explanation.words(),
    )
}

/// A sound fountain is the likeliest; entries that it cannot have made may still speak of a fault.
fn sound_first(weighed: &[Weighed], sound: &Weighed, doubted: &[usize]) -> String {
    let better = weighed.iter().any(|w| w.log_evidence > sound.log_evidence);
    match (doubted, better) {
        ([], _) => "No fault explains the logbook better than a sound fountain does.".to_owned(),
        (lines, false) => format!(
            "No fault explains the logbook better than a sound fountain does. {} with neither: look for a slip of the pen.",
            agree(lines)
        ),
        (lines, true) => format!(
            "A sound fountain is likelier than any fault ({:.0} % of the weight), but {} with no sound unit: either that is a slip of the pen, or something is broken. Read it again.",
            100.0 * sound.weight,
            small(&agree(lines))
        ),
    }
}

/// What stands against the likeliest explanation.
fn against(doubted: &[usize]) -> String {
    match doubted {
        [] => String::new(),
        [line] => format!(" Even then line {line} is probably wrong: look for a slip of the pen."),
        lines => format!(
            " Even then {} are probably wrong: nothing weighed here fits the whole logbook.",
            named(lines)
        ),
    }
}

/// `line 9`, `lines 9, 12 and 14`.
fn named(lines: &[usize]) -> String {
    let names: Vec<String> = lines.iter().map(usize::to_string).collect();
    match &names[..] {
        [one] => format!("line {one}"),
        [most @ .., last] => format!("lines {} and {last}", most.join(", ")),
        [] => String::new(),
    }
}

/// `Line 9 agrees`, `Lines 9, 12 and 14 agree`.
fn agree(lines: &[usize]) -> String {
    capital(&format!("{} agree{}", named(lines), if lines.len() == 1 { "s" } else { "" }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn weighed(list: &[(Explanation, f64, f64)]) -> Vec<Weighed> {
        list.iter()
            .map(|&(explanation, log_evidence, weight)| Weighed {
                explanation,
                log_evidence,
                weight,
                rows: Vec::new(),
            })
            .collect()
    }

    #[test]
    fn a_fault_is_named_only_if_much_speaks_for_it() {
        use Explanation::{Drain, Sound, WornBattery};
        let parting = Parting { reading: Some("standby current".to_owned()) };
        let said = |list: &[(Explanation, f64, f64)], doubted: &[usize]| {
            verdict(&weighed(list), 0.5, doubted, Some(&parting))
        };
        let sure = said(&[(Drain, -20.0, 0.9), (Sound, -26.0, 0.05)], &[]);
        assert!(sure.starts_with("Most likely something drains") && sure.contains("read: standby current."));
        // A gain of 3 or less beyond what two runs differ by is not enough, nor is half of the weight.
        for list in
            [[(Drain, -20.0, 0.9), (Sound, -23.4, 0.05)], [(Drain, -20.0, 0.45), (WornBattery, -20.0, 0.45)]]
        {
            let unsure = said(&list, &[7]);
            assert!(unsure.starts_with("Either something drains") && unsure.contains("standby current"));
            assert!(unsure.contains("Even then line 7 is probably wrong"), "{unsure}");
        }
        let nothing = said(&[(Drain, -20.0, 0.9), (Sound, -26.0, 0.05)], &[3, 7, 9]);
        assert!(nothing.contains("Even then lines 3, 7 and 9 are probably wrong: nothing"), "{nothing}");
        let sound = said(&[(Sound, -20.0, 0.8), (Drain, -20.0, 0.1)], &[3]);
        assert!(sound.starts_with("No fault") && sound.contains("Line 3 agrees with neither"), "{sound}");
        let perhaps = said(&[(Sound, -20.0, 0.8), (Drain, -19.0, 0.2)], &[3, 5]);
        assert!(
            perhaps
                .contains("but lines 3 and 5 agree with no sound unit: either that is a slip of the pen, or")
        );
        assert!(perhaps.ends_with("or something is broken. Read it again."), "{perhaps}");
        assert_eq!(verdict(&[], 0.0, &[], None), "The logbook agrees with the design; no fault shows.");
    }
}
