//! What the explanations of a logbook say, in words.

use super::doubts::named;
use super::explanation::Explanation;
use super::parting::Parting;
use super::rivals::Weighed;
use crate::logbook::{Entry, Kind};
use crate::units::letters::capital;

/// Weight and gain in ln evidence from which a fault is named (Kass & Raftery 1995, JASA 90:773-795, from memory: 3 is strong).
const NAMED_WEIGHT: f64 = 0.5;
const NAMED_GAIN: f64 = 3.0;
/// Weight from which a sound fountain is named alone (common practice, no source).
const SOUND_WEIGHT: f64 = 0.9;
/// Weight from which a fault is worth naming where it explains what a sound fountain does not (common practice, no source).
const WORTH_NAMING: f64 = 0.03;

/// The verdict on a logbook with these `entries`; `weighed`: explanations, likeliest first, none if no fault was weighed. `apart`: difference of ln
/// evidence between two runs of the sound explanation; `parting`: what parts the first two.
pub fn verdict(weighed: &[Weighed], apart: f64, parting: Option<&Parting>, entries: &[Entry]) -> String {
    let ([first, second, ..], Some(sound)) =
        (weighed, weighed.iter().find(|w| w.explanation == Explanation::Sound))
    else {
        return "The logbook agrees with the design; no fault shows. (--explain weighs faults all the same.)"
            .to_owned();
    };
    let said = Said { sound, entries, reading: parting.and_then(|p| p.reading.as_deref()) };
    if first.explanation == Explanation::Sound {
        return said.sound_first(second, &weighed[1..]);
    }
    let explained = said.explained_by(first);
    if first.weight > NAMED_WEIGHT && first.log_evidence - sound.log_evidence > NAMED_GAIN + apart {
        let sure = match (said.readings_alone(&explained), said.reading) {
            (true, _) => {
                format!(
                    " If not, {}: to be sure, read {} again.",
                    said.are(&explained, "wrong"),
                    it(&explained)
                )
            }
            (false, Some(reading)) => format!(" To be sure, read: {reading}."),
            (false, None) => String::new(),
        };
        return format!("Most likely {}.{}{sure}", weighted(first), said.against(first));
    }
    match second.explanation == Explanation::Sound && !explained.is_empty() {
        true => said.wrong_or(first, &explained),
        false => said.either(first, second),
    }
}

/// What sentences are made of.
struct Said<'a> {
    sound: &'a Weighed,
    entries: &'a [Entry],
    /// The reading that parts the first two explanations.
    reading: Option<&'a str>,
}

impl Said<'_> {
    /// A sound fountain is the likeliest; an entry that it cannot have made may still speak of a fault.
    fn sound_first(&self, second: &Weighed, rivals: &[Weighed]) -> String {
        let explains = |w: &&Weighed| w.weight >= WORTH_NAMING && !self.explained_by(w).is_empty();
        if let Some(rival) = rivals.iter().find(explains) {
            return self.wrong_or(rival, &self.explained_by(rival));
        }
        match (self.sound.weight > SOUND_WEIGHT, &self.sound.doubted[..]) {
            (false, _) => self.either(self.sound, second),
            (true, []) => "No fault explains the logbook better than a sound fountain does.".to_owned(),
            (true, lines) => format!(
                "No fault explains the logbook better than a sound fountain does. {} with neither: look for a slip of the pen.",
                capital(&format!("{} agree{}", self.named(lines), if lines.len() == 1 { "s" } else { "" }))
            ),
        }
    }

    /// Lines that are probably wrong if the fountain is sound, and right if it has this fault.
    fn explained_by(&self, fault: &Weighed) -> Vec<usize> {
        self.sound.doubted.iter().copied().filter(|line| !fault.doubted.contains(line)).collect()
    }

    /// Whether what speaks for a fault is one or two readings, which can be read again.
    fn readings_alone(&self, lines: &[usize]) -> bool {
        matches!(lines.len(), 1 | 2)
            && lines.iter().all(|line| self.entry(*line).is_some_and(Entry::is_reading))
    }

    /// Either those entries are wrong, or there is this fault.
    fn wrong_or(&self, fault: &Weighed, explained: &[usize]) -> String {
        let parts = match (self.readings_alone(explained), self.reading) {
            (true, _) => format!("Read {} again: that parts them.", it(explained)),
            (false, Some(reading)) => format!("What parts them best: {reading}."),
            (false, None) => NOTHING_PARTS.to_owned(),
        };
        format!(
            "Either {}, or {}; a sound fountain {:.0} %.{} {parts}",
            self.are(explained, "wrong"),
            weighted(fault),
            100.0 * self.sound.weight,
            self.against(fault)
        )
    }

    /// Two explanations that the entries cannot tell apart.
    fn either(&self, a: &Weighed, b: &Weighed) -> String {
        let parts = match self.reading {
            Some(reading) => format!("What parts them best: {reading}."),
            None => NOTHING_PARTS.to_owned(),
        };
        format!(
            "Either {} or {}: these entries cannot tell.{} {parts}",
            weighted(a),
            weighted(b),
            self.against(a)
        )
    }

    /// What stands against an explanation.
    fn against(&self, w: &Weighed) -> String {
        match &w.doubted[..] {
            [] => String::new(),
            lines @ [_] => {
                format!(" Even then {}: look for a slip of the pen.", self.are(lines, "probably wrong"))
            }
            lines => format!(
                " Even then {}: nothing weighed here fits the whole logbook.",
                self.are(lines, "probably wrong")
            ),
        }
    }

    fn entry(&self, line: usize) -> Option<&Entry> {
        self.entries.iter().find(|e| e.line == line)
    }

    /// `line 9 (short-circuit current) is wrong`, `lines 9, 12 and 14 are wrong`.
    fn are(&self, lines: &[usize], what: &str) -> String {
        format!("{} {} {what}", self.named(lines), if lines.len() == 1 { "is" } else { "are" })
    }

    /// `line 9 (short-circuit current)`, `lines 9, 12 and 14`.
    fn named(&self, lines: &[usize]) -> String {
        let what = match lines {
            [one] => self.entry(*one).map(|entry| format!(" ({})", Kind::words_of(&entry.what))),
            _ => None,
        };
        named(lines) + &what.unwrap_or_default()
    }
}

const NOTHING_PARTS: &str = "No single reading of the field card parts them; more evenings may.";

/// `something drains the battery day and night (93 % of the weight)`.
fn weighted(w: &Weighed) -> String {
    format!("{} ({:.0} % of the weight)", w.explanation.words(), 100.0 * w.weight)
}

/// For one line or for several.
fn it(lines: &[usize]) -> &'static str {
    if lines.len() == 1 { "it" } else { "them" }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Explanation::{DirtyPanel, Drain, Sound, WornBattery};

    fn weighed(list: &[(Explanation, f64, f64, &[usize])]) -> Vec<Weighed> {
        list.iter()
            .map(|&(explanation, log_evidence, weight, doubted)| Weighed {
                explanation,
                log_evidence,
                weight,
                doubted: doubted.to_vec(),
                rows: Vec::new(),
            })
            .collect()
    }

    /// The verdict on a logbook with a current in line 3 and a stop in line 4.
    fn said(list: &[(Explanation, f64, f64, &[usize])]) -> String {
        let text = "# clock: standard\ndate,time,what,value\n2026-06-03,12:00,short-circuit current,0.6 A\n2026-06-03,21:00,stopped,\n";
        let book = crate::logbook::parse(std::path::Path::new("log.csv"), text.as_bytes())
            .unwrap_or_else(|p| panic!("{p}"));
        let parting = Parting { reading: Some("standby current".to_owned()) };
        verdict(&weighed(list), 0.5, Some(&parting), &book.entries)
    }

    #[test]
    fn a_fault_is_named_only_if_much_speaks_for_it() {
        let sure = said(&[(Drain, -20.0, 0.9, &[]), (Sound, -26.0, 0.05, &[])]);
        assert!(sure.starts_with("Most likely something drains") && sure.ends_with("read: standby current."));
        // A gain of 3 or less beyond what two runs differ by is not enough, nor is half of the weight.
        for [a, b] in [
            [(Drain, -20.0, 0.9, &[4][..]), (Sound, -23.4, 0.05, &[4][..])],
            [(Drain, -20.0, 0.45, &[4]), (WornBattery, -20.0, 0.45, &[])],
        ] {
            let unsure = said(&[a, b, (Sound, -23.4, 0.05, &[4])]);
            assert!(unsure.starts_with("Either something drains") && unsure.contains("standby current"));
            assert!(unsure.contains("Even then line 4 (stopped) is probably wrong: look"), "{unsure}");
        }
        let nothing = said(&[(Drain, -20.0, 0.9, &[3, 7, 9]), (Sound, -26.0, 0.05, &[3])]);
        assert!(nothing.contains("Even then lines 3, 7 and 9 are probably wrong: nothing"), "{nothing}");
        assert!(
            verdict(&[], 0.0, None, &[]).starts_with("The logbook agrees with the design; no fault shows.")
        );
    }

    /// An entry that only a sound fountain has to doubt speaks for the fault that explains it, whichever of the two is likelier.
    #[test]
    fn an_entry_that_a_fault_explains_is_wrong_or_there_is_that_fault() {
        let doubtful =
            said(&[(Sound, -20.0, 0.85, &[3]), (Drain, -21.0, 0.08, &[3]), (DirtyPanel, -20.0, 0.07, &[])]);
        assert_eq!(
            doubtful,
            "Either line 3 (short-circuit current) is wrong, or the panel is dirty or shaded all day (7 % of the weight); a sound fountain 85 %. Read it again: that parts them."
        );
        let first = said(&[(DirtyPanel, -20.0, 0.6, &[]), (Sound, -21.0, 0.4, &[3])]);
        assert!(first.starts_with("Either line 3 (short-circuit current) is wrong, or the panel is dirty"));
        let named = said(&[(DirtyPanel, -20.0, 0.9, &[]), (Sound, -26.0, 0.1, &[3])]);
        assert!(
            named.starts_with("Most likely the panel is dirty")
                && named.ends_with(
                    " If not, line 3 (short-circuit current) is wrong: to be sure, read it again."
                ),
            "{named}"
        );
        // An evening is gone; a fault that hardly weighs is not named.
        let evening = said(&[(Sound, -20.0, 0.85, &[4]), (Drain, -21.0, 0.15, &[])]);
        assert!(evening.ends_with("What parts them best: standby current."), "{evening}");
        let slip = said(&[(Sound, -20.0, 0.98, &[4]), (Drain, -25.0, 0.02, &[])]);
        assert!(slip.contains("Line 4 (stopped) agrees with neither: look for a slip"), "{slip}");
    }

    /// A sound fountain is named alone only if little is left for the faults.
    #[test]
    fn a_likely_sound_fountain_is_still_one_of_two() {
        let alone = said(&[(Sound, -20.0, 0.95, &[]), (Drain, -23.0, 0.03, &[])]);
        assert_eq!(alone, "No fault explains the logbook better than a sound fountain does.");
        let two = said(&[(Sound, -20.0, 0.7, &[]), (Drain, -20.0, 0.2, &[])]);
        assert_eq!(
            two,
            "Either everything works as designed (70 % of the weight) or something drains the battery day and night (20 % of the weight): these entries cannot tell. What parts them best: standby current."
        );
        let doubtful = said(&[(Sound, -20.0, 0.7, &[4]), (Drain, -20.0, 0.2, &[4])]);
        assert!(doubtful.starts_with("Either everything works as designed"), "{doubtful}");
        assert!(doubtful.contains("Even then line 4 (stopped) is probably wrong: look"), "{doubtful}");
    }
}
