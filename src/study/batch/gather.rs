//! Merges the parts of a batch that was split over machines, into the results that one machine would have made.

use super::batch_summary::Failed;
use super::context::{Batch, blocks};
use super::drive::{BatchError, Ended};
use super::event::Event;
use super::identity::Identity;
use super::job::{Job, JobError, JobOutcome, PART, read_checkpoint};
use super::manifest::{self, Manifest};
use super::share::Share;
use crate::design;
use crate::study::run::Until;
use crate::study::site::Sites;
use crate::tally::Tally;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// The parts of one batch, each once.
#[derive(Clone, Debug)]
pub struct Parts {
    /// By number; complete if all are wanted.
    parts: BTreeMap<u64, FoundPart>,
    wanted: Wanted,
}

/// Which parts must be there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// All of them, finished: the results are those of one machine.
    All,
    /// Those that there are, as far as they are: fewer trials, with the error of so many.
    SoFar,
}

/// One part.
#[derive(Clone, Debug)]
pub(super) struct FoundPart {
    pub folder: PathBuf,
    pub manifest: Manifest,
}

/// What parts there are in some folders.
pub(super) struct Found {
    /// By number; some may be missing.
    pub parts: BTreeMap<u64, FoundPart>,
    /// Why some cannot be used.
    pub trouble: Vec<String>,
}

impl Found {
    /// Searches folders; each may be the folder of a part, or hold such folders. No part may be duplicate, or of another batch.
    pub fn search(folders: &[PathBuf]) -> Found {
        let mut trouble = Vec::new();
        let mut parts: BTreeMap<u64, FoundPart> = BTreeMap::new();
        let mut first: Option<FoundPart> = None;
        if folders.is_empty() {
            trouble.push("no folder to look for parts in".to_owned());
        }
        for folder in folders.iter().flat_map(|f| part_folders(f, &mut trouble)).collect::<Vec<_>>() {
            let manifest = match Manifest::read(&folder) {
                Ok(manifest) => manifest,
                Err(why) => {
                    trouble.push(why);
                    continue;
                }
            };
            let part = FoundPart { folder, manifest };
            let first = first.get_or_insert_with(|| part.clone());
            if let Some(why) = of_another_batch(&part, first) {
                trouble.push(why);
            } else if let Some(twin) = parts.get(&part.manifest.part) {
                trouble.push(format!(
                    "part {} is a duplicate: {} and {}; give only one of them",
                    part.manifest.share(),
                    twin.folder.display(),
                    part.folder.display()
                ));
            } else {
                parts.insert(part.manifest.part, part);
            }
        }
        Found { parts, trouble }
    }
}

impl Parts {
    /// Finds the parts in folders; each may be the folder of a part, or hold such folders. No part may be duplicate, or of
    /// another batch; none may be missing if all are wanted.
    ///
    /// # Errors
    /// Every reason why they cannot be merged.
    pub fn find(folders: &[PathBuf], wanted: Wanted) -> Result<Parts, Vec<String>> {
        let Found { parts, mut trouble } = Found::search(folders);
        if let Some(first) = parts.values().next() {
            let of = first.manifest.of;
            let missing: Vec<u64> = (1..=of).filter(|n| !parts.contains_key(n)).collect();
            if !missing.is_empty() && wanted == Wanted::All {
                trouble.push(format!(
                    "missing: part {} of {of}; give the folders that hold them, take what there is with --so-far, or make \
                     them with: stilldays batch {} --trials {} --seed {} --part {}/{of}",
                    listed(&missing, " to ", ", "),
                    first.manifest.folder.display(),
                    first.manifest.trials,
                    first.manifest.seed,
                    missing[0],
                ));
            }
        }
        if trouble.is_empty() { Ok(Parts { parts, wanted }) } else { Err(trouble) }
    }

    fn first(&self) -> &Manifest {
        // `find` never gives an empty set: a folder without a part is an error.
        &self.parts.values().next().expect("at least one part").manifest
    }

    /// Their seed.
    pub fn seed(&self) -> u64 {
        self.first().seed
    }

    /// When each design was finished.
    pub fn until(&self) -> Until {
        Until::Trials(self.first().trials)
    }

    /// The folder of designs, as the first part was given it.
    pub fn folder(&self) -> &Path {
        &self.first().folder
    }

    /// Number of a design in the batch, from 0.
    fn index(&self, file: &str) -> Option<u64> {
        self.first().designs.iter().zip(0..).find(|(d, _)| d.0 == file).map(|(_, index)| index)
    }
}

/// The folders that hold a part: `folder` itself or its subfolders.
fn part_folders(folder: &Path, trouble: &mut Vec<String>) -> Vec<PathBuf> {
    if folder.join(manifest::FILE).exists() {
        return vec![folder.to_owned()];
    }
    let mut found: Vec<PathBuf> = match std::fs::read_dir(folder) {
        Ok(entries) => {
            entries.flatten().map(|e| e.path()).filter(|p| p.join(manifest::FILE).exists()).collect()
        }
        Err(e) => {
            trouble.push(format!("{}: cannot search it for parts: {e}", folder.display()));
            return Vec::new();
        }
    };
    found.sort();
    if found.is_empty() {
        trouble.push(format!(
            "{}: no part found: parts are made by batch --part, and the folder of a part holds {}",
            folder.display(),
            manifest::FILE
        ));
    }
    found
}

/// Why two parts are not of the same batch; none if they may be.
fn of_another_batch(part: &FoundPart, first: &FoundPart) -> Option<String> {
    let (ours, theirs) = (&part.manifest, &first.manifest);
    let differs = |what: &str, a: &dyn std::fmt::Display, b: &dyn std::fmt::Display| {
        Some(format!("{}: {what} {a}, but {} has {b}", part.folder.display(), first.folder.display()))
    };
    if ours.version != crate::VERSION {
        return Some(format!(
            "{}: made by version {}, this is {}: gather with that version, or make the parts again",
            part.folder.display(),
            ours.version,
            crate::VERSION
        ));
    } else if ours.of != theirs.of {
        return differs("part of", &ours.of, &theirs.of);
    } else if ours.seed != theirs.seed {
        return differs("seed", &ours.seed, &theirs.seed);
    } else if ours.trials != theirs.trials {
        return differs("trials", &ours.trials, &theirs.trials);
    }
    let (a, b): (BTreeSet<_>, BTreeSet<_>) = (ours.designs.iter().collect(), theirs.designs.iter().collect());
    let files: BTreeSet<&str> = a.symmetric_difference(&b).map(|d| d.0.as_str()).collect();
    (!files.is_empty()).then(|| {
        format!(
            "{} and {} saw different designs: {}; each machine needs the same folder",
            part.folder.display(),
            first.folder.display(),
            files.into_iter().collect::<Vec<_>>().join(", ")
        )
    })
}

/// `3, 5 to 9, 12`, with these words between.
pub(super) fn listed(numbers: &[u64], to: &str, and: &str) -> String {
    let mut runs: Vec<(u64, u64)> = Vec::new();
    for &n in numbers {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == n => *last = n,
            _ => runs.push((n, n)),
        }
    }
    let texts: Vec<String> =
        runs.iter().map(|(a, b)| if a == b { a.to_string() } else { format!("{a}{to}{b}") }).collect();
    texts.join(and)
}

impl Batch<'_> {
    /// Merges the parts of every design of the folder and writes the results.
    ///
    /// # Errors
    /// As [`Batch::run`]. A design whose parts cannot be merged is reported to `on_event` and counted as failed.
    pub fn gather(&self, parts: &Parts) -> Result<Ended, BatchError> {
        let (_lock, found) = self.open(self.out)?;
        let mut log = self.new_log(&found)?;
        let jobs = self.inspect_all(&found.designs, None, &mut log)?;
        for (file, _) in &parts.first().designs {
            if !found.designs.iter().any(|c| c.file == *file) {
                let reason = format!("the parts contain it, but it is not in {}", self.folder.display());
                (self.on_event)(Event::Failed { file, reason: &reason });
                log.summary.failed.push(Failed { file: file.clone(), reason });
            }
        }
        self.run_jobs(jobs, None, &mut log, &|job, sites| self.merge_parts(job, parts, sites))?;
        Ok(log.ended())
    }

    /// Merges the parts of one design.
    fn merge_parts(&self, job: &Job, parts: &Parts, sites: &Sites) -> Result<JobOutcome, JobError> {
        let at = &job.candidate;
        let file = design::read(&at.path)?;
        let site = sites.of(&file)?;
        let identity = self.identity(at, &file, site.sha256.clone());
        let plan = self.plan(at, file, site);
        let Some(index) = parts.index(&at.file) else {
            return Err(JobError::Other(
                "no part contains it: the folder has changed since the parts were made".to_owned(),
            ));
        };
        let most = self.until.most();
        let mut tally = Tally::new(&plan.layout);
        let mut trouble = Vec::new();
        for part in parts.parts.values() {
            let share: Share = part.manifest.share();
            let mut add = || -> Result<(), String> {
                let path = part.folder.join(&at.results).join(PART);
                let found = match (read_checkpoint(&path)?, parts.wanted) {
                    (Some(found), _) => found,
                    (None, Wanted::SoFar) => return Ok(()),
                    (None, Wanted::All) => {
                        return Err("it has no results of this design: run the part again".to_owned());
                    }
                };
                if let Some(why) = found.identity.differs_from(&identity) {
                    return Err(why);
                }
                if found.stride != share.stride(index, blocks(most)) || !found.adds_up(most) {
                    return Err("it has blocks of another part: run the part again".to_owned());
                }
                let own = found.stride.count(most);
                if found.done < own && parts.wanted == Wanted::All {
                    return Err(format!(
                        "not finished, {} of {own} blocks done: run the part again",
                        found.done
                    ));
                }
                tally.merge(&found.tally).map_err(|e| e.to_string())
            };
            if let Err(why) = add() {
                trouble.push(format!("part {share} ({}): {why}", part.folder.display()));
            }
        }
        if !trouble.is_empty() {
            return Err(JobError::Other(trouble.join("\n")));
        }
        let trials = tally.trials();
        if trials < most && parts.wanted == Wanted::SoFar {
            self.note(at, &format!("{trials} of {most} trials so far; the error is that of {trials}"));
            // Another identity than that of all trials: whatever comes next makes the results again.
            let identity = Identity { until: format!("{trials} of {most} trials so far"), ..identity };
            let row = self.publish(at, &plan, &tally, None, identity)?;
            return Ok(JobOutcome::SoFar(Box::new(row), trials));
        }
        if trials != most {
            // The strides cover all blocks; this would be a fault of this program.
            return Err(JobError::Other(format!("the parts have {trials} trials, not {most}")));
        }
        Ok(JobOutcome::Finished(Some(Box::new(self.publish(at, &plan, &tally, None, identity)?))))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::disk::write;

    fn put(dir: &Path, name: &str, share: &str, change: impl Fn(&mut Manifest)) -> PathBuf {
        let mut manifest = Manifest::new(share.parse().unwrap(), 1, 48, "designs".as_ref());
        manifest.designs.push(("a.toml".into(), Some("d".repeat(64))));
        change(&mut manifest);
        write::one(&dir.join(name).join(manifest::FILE), manifest.to_bytes()).unwrap();
        dir.join(name)
    }

    #[test]
    fn parts_in_one_folder_or_several_are_found() {
        let dir = tempfile::tempdir().unwrap();
        let a = put(dir.path(), "x/part-1-of-2", "1/2", |_| ());
        let b = put(dir.path(), "y/part-2-of-2", "2/2", |_| ());
        assert_eq!(Parts::find(&[a, b.parent().unwrap().to_owned()], Wanted::All).unwrap().parts.len(), 2);
        put(dir.path(), "x/part-2-of-2", "2/2", |_| ());
        assert_eq!(Parts::find(&[dir.path().join("x")], Wanted::All).unwrap().until(), Until::Trials(48));
    }

    #[test]
    fn what_does_not_fit_is_named() {
        let dir = tempfile::tempdir().unwrap();
        let here = dir.path();
        let first = put(here, "1", "1/5", |_| ());
        let find = |more: &[PathBuf]| {
            let mut all = vec![first.clone()];
            all.extend_from_slice(more);
            Parts::find(&all, Wanted::All).unwrap_err().join("\n")
        };
        assert!(find(&[]).contains("missing: part 2 to 5 of 5"), "{}", find(&[]));
        assert!(find(&[put(here, "3", "3/5", |_| ())]).contains("part 2, 4 to 5 of 5"));
        assert_eq!(Parts::find(&[first.clone(), here.join("3")], Wanted::SoFar).unwrap().parts.len(), 2);
        type Case<'a> = (&'a str, &'a dyn Fn(&mut Manifest), &'a str);
        let cases: [Case<'_>; 6] = [
            ("1/5", &|_| (), "part 1/5 is a duplicate: "),
            ("2/4", &|_| (), "part of 4, but "),
            ("2/5", &|m| m.seed = 2, "seed 2, but "),
            ("2/5", &|m| m.trials = 96, "trials 96, but "),
            ("2/5", &|m| m.version = "0.0.9".into(), "made by version 0.0.9"),
            ("2/5", &|m| m.designs.push(("b.toml".into(), None)), "saw different designs: b.toml"),
        ];
        for (k, (share, change, part)) in cases.into_iter().enumerate() {
            let text = find(&[put(here, &format!("case-{k}"), share, change)]);
            assert!(text.contains(part), "{part} in {text}");
        }
        let torn = here.join("torn");
        write::one(&torn.join(manifest::FILE), b"{\"schema\"".to_vec()).unwrap();
        assert!(find(&[torn]).contains("damaged"), "a torn manifest");
        let endless = put(here, "endless", "2/5", |m| m.trials = u64::MAX);
        assert!(find(&[endless]).contains("trials; allowed: 1 to 10000000"), "trials beyond all counting");
        let none = put(here, "none", "2/5", |m| m.part = 0);
        assert!(find(&[none]).contains("`0/5` is not a part"), "a part that cannot be");
        assert!(Parts::find(&[], Wanted::SoFar).is_err());
        assert!(find(&[here.join("gone")]).contains("cannot search it"), "a folder that is not there");
        std::fs::create_dir(here.join("empty")).unwrap();
        assert!(Parts::find(&[here.join("empty")], Wanted::All).unwrap_err()[0].contains("no part found"));
    }
}
