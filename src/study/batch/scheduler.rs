//! Which part of a batch a scheduler's task is, and how many threads it was given: read from the variables that schedulers set for the
//! tasks of an array.

use super::share::{MOST_PARTS, Share};

/// What the environment holds under a name.
pub type Variables<'a> = &'a dyn Fn(&str) -> Option<String>;

/// The variables of a scheduler.
struct Scheduler {
    /// The number of a task.
    task: &'static str,
    /// The number of the first task: where the array says it, else what the scheduler always begins with.
    first: First,
    /// The numbers of the last task and of the step from task to task.
    last: Option<&'static str>,
    step: Option<&'static str>,
    /// Processors of a task.
    threads: Option<&'static str>,
}

/// Where the numbers of tasks begin.
enum First {
    /// Where the user began; this variable tells.
    Said(&'static str),
    /// Where the user began; nothing tells.
    Unsaid,
    /// Always at 0.
    Zero,
}

/// Slurm; grid engines; LSF; PBS, of two kinds; indexed jobs of containers. From their public manuals, from memory.
static SCHEDULERS: [Scheduler; 6] = [
    Scheduler {
        task: "SLURM_ARRAY_TASK_ID",
        first: First::Said("SLURM_ARRAY_TASK_MIN"),
        last: Some("SLURM_ARRAY_TASK_MAX"),
        step: Some("SLURM_ARRAY_TASK_STEP"),
        threads: Some("SLURM_CPUS_PER_TASK"),
    },
    Scheduler {
        task: "SGE_TASK_ID",
        first: First::Said("SGE_TASK_FIRST"),
        last: Some("SGE_TASK_LAST"),
        step: Some("SGE_TASK_STEPSIZE"),
        threads: Some("NSLOTS"),
    },
    Scheduler {
        task: "LSB_JOBINDEX",
        first: First::Unsaid,
        last: Some("LSB_JOBINDEX_END"),
        step: Some("LSB_JOBINDEX_STEP"),
        threads: Some("LSB_DJOB_NUMPROC"),
    },
    Scheduler {
        task: "PBS_ARRAY_INDEX",
        first: First::Unsaid,
        last: None,
        step: None,
        threads: Some("NCPUS"),
    },
    Scheduler {
        task: "PBS_ARRAYID",
        first: First::Unsaid,
        last: None,
        step: None,
        threads: Some("PBS_NUM_PPN"),
    },
    Scheduler { task: "JOB_COMPLETION_INDEX", first: First::Zero, last: None, step: None, threads: None },
];

/// A part as the command line gives it: `3/16`; `auto/16`, the task of a scheduler's array, out of 16; or `auto`, where the array tells
/// how many there are.
///
/// # Errors
/// What is missing, and how to say it.
pub fn part(text: &str, var: Variables<'_>) -> Result<Share, String> {
    let of = match text.split_once('/') {
        _ if text == "auto" => None,
        Some(("auto", of)) => Some(
            of.parse::<u64>()
                .ok()
                .filter(|n| (1..=MOST_PARTS).contains(n))
                .ok_or_else(|| format!("`{of}` is not a number of parts from 1 to {MOST_PARTS}"))?,
        ),
        _ => return text.parse(),
    };
    let number = |name: &str| var(name).and_then(|text| text.trim().parse::<u64>().ok());
    let Some((scheduler, task)) = task(&number) else {
        let names: Vec<_> = SCHEDULERS.iter().map(|s| s.task).collect();
        return Err(format!(
            "no task of a scheduler's array: none of {} holds a number; write the part as K/N, such as 3/16",
            names.join(", ")
        ));
    };
    let zero_based = matches!(scheduler.first, First::Zero);
    let part = task + u64::from(zero_based);
    let of = match of {
        Some(of) => of,
        None => count(scheduler, &number)?,
    };
    if (1..=of).contains(&part) {
        return Ok(Share { part, of });
    }
    let (first, last) = if zero_based { (0, of - 1) } else { (1, of) };
    Err(format!(
        "{} is {task}, which is no part of {of}: number the tasks of the array from {first} to {last}",
        scheduler.task
    ))
}

/// The scheduler that runs this process, and the number of its task. Outside of an array some set it to 0 or to a word.
fn task(number: &dyn Fn(&str) -> Option<u64>) -> Option<(&'static Scheduler, u64)> {
    SCHEDULERS.iter().find_map(|s| {
        let task = number(s.task)?;
        (task > 0 || !matches!(s.first, First::Unsaid)).then_some((s, task))
    })
}

/// How many tasks the array has, if it says so and they are numbered from 1 without a gap.
fn count(scheduler: &Scheduler, number: &dyn Fn(&str) -> Option<u64>) -> Result<u64, String> {
    let give =
        "write --part auto/N with the number of all parts, also when only some of them are submitted again";
    let Some(last) = scheduler.last.and_then(number) else {
        return Err(format!("{} does not say how many tasks the array has; {give}", scheduler.task));
    };
    let first = match scheduler.first {
        First::Said(name) => number(name).unwrap_or(1),
        First::Unsaid => 1,
        First::Zero => 0,
    };
    let step = scheduler.step.and_then(number).unwrap_or(1);
    let tasks = number("SLURM_ARRAY_TASK_COUNT").filter(|_| scheduler.task.starts_with("SLURM"));
    if first != 1 || step != 1 || tasks.is_some_and(|tasks| tasks != last) {
        return Err(format!("the array is not numbered from 1 to {last} without gaps; {give}"));
    }
    if !(1..=MOST_PARTS).contains(&last) {
        return Err(format!("the array has {last} tasks, and work can be cut into 1 to {MOST_PARTS} parts"));
    }
    Ok(last)
}

/// Processors that a scheduler gave this task, if it says so.
pub fn threads(var: Variables<'_>) -> Option<usize> {
    SCHEDULERS
        .iter()
        .filter_map(|s| s.threads)
        .find_map(|name| var(name).and_then(|text| text.trim().parse::<usize>().ok()).filter(|n| *n > 0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str, variables: &[(&str, &str)]) -> Result<String, String> {
        let var = |name: &str| variables.iter().find(|(n, _)| *n == name).map(|(_, v)| (*v).to_owned());
        part(text, &var).map(|share| share.to_string())
    }

    #[test]
    fn a_task_is_a_part_with_every_scheduler() {
        let slurm = |id, min, max, count| {
            vec![
                ("SLURM_ARRAY_TASK_ID", id),
                ("SLURM_ARRAY_TASK_MIN", min),
                ("SLURM_ARRAY_TASK_MAX", max),
                ("SLURM_ARRAY_TASK_COUNT", count),
                ("SLURM_ARRAY_TASK_STEP", "1"),
            ]
        };
        assert_eq!(of("auto", &slurm("3", "1", "16", "16")).unwrap(), "3/16");
        // Some parts submitted again: their array does not say how many there are.
        assert!(of("auto", &slurm("7", "3", "7", "2")).unwrap_err().contains("--part auto/N"));
        assert!(of("auto", &slurm("7", "1", "7", "2")).unwrap_err().contains("without gaps"));
        assert_eq!(of("auto/16", &slurm("7", "3", "7", "2")).unwrap(), "7/16");
        assert!(of("auto", &slurm("0", "0", "15", "16")).unwrap_err().contains("from 1 to 15"));
        assert!(of("auto/16", &slurm("0", "0", "15", "16")).unwrap_err().contains("from 1 to 16"));
        assert!(of("auto", &slurm("1", "1", "20000", "20000")).unwrap_err().contains("1 to 10000 parts"));
        let beyond = of("auto/4", &[("JOB_COMPLETION_INDEX", "4")]).unwrap_err();
        assert!(beyond.contains("from 0 to 3"), "{beyond}");
        let sge = [
            ("SGE_TASK_ID", "2"),
            ("SGE_TASK_FIRST", "1"),
            ("SGE_TASK_LAST", "4"),
            ("SGE_TASK_STEPSIZE", "1"),
        ];
        assert_eq!(of("auto", &sge).unwrap(), "2/4");
        assert_eq!(of("auto", &[("LSB_JOBINDEX", "4"), ("LSB_JOBINDEX_END", "4")]).unwrap(), "4/4");
        assert_eq!(of("auto/4", &[("PBS_ARRAY_INDEX", "1")]).unwrap(), "1/4");
        assert_eq!(of("auto/4", &[("PBS_ARRAYID", "4")]).unwrap(), "4/4");
        assert!(of("auto", &[("PBS_ARRAY_INDEX", "1")]).unwrap_err().contains("does not say how many"));
        // Numbered from 0, always.
        assert_eq!(of("auto/4", &[("JOB_COMPLETION_INDEX", "0")]).unwrap(), "1/4");
        assert!(of("auto/4", &[("JOB_COMPLETION_INDEX", "4")]).is_err());
    }

    #[test]
    fn outside_of_an_array_it_says_what_to_write() {
        for variables in [vec![], vec![("SGE_TASK_ID", "undefined")], vec![("LSB_JOBINDEX", "0")]] {
            assert!(of("auto", &variables).unwrap_err().contains("write the part as K/N"), "{variables:?}");
        }
        assert_eq!(of("3/16", &[("SLURM_ARRAY_TASK_ID", "5")]).unwrap(), "3/16");
        for bad in ["auto/0", "auto/x", "auto/10001", "Auto", "auto/4/4"] {
            assert!(of(bad, &[("PBS_ARRAYID", "1")]).is_err(), "{bad}");
        }
    }

    #[test]
    fn threads_are_those_of_the_task() {
        let var = |name: &str| (name == "SLURM_CPUS_PER_TASK").then(|| "4".to_owned());
        assert_eq!(threads(&var), Some(4));
        assert_eq!(threads(&|_| None), None);
        assert_eq!(threads(&|_| Some("0".to_owned())), None);
    }
}
