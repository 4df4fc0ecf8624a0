//! Whether the system lets this process have the memory that a run needs (Linux only).
//!
//! A failed allocation ends the program with a line that no user understands, and nothing can be said then: so it is said before.

use std::fs;

/// What a run takes at most, and each thread more (its heap is set aside whole), MB. Measured with two threads: 154 MB do, 102 MB do not.
const RUN_MB: u64 = 128;
const THREAD_MB: u64 = 72;
const BYTES_PER_MB: u64 = 1_000_000;

/// A warning where less memory is allowed than so many threads may need.
pub fn shortage(threads: usize) -> Option<String> {
    let allowed_mb = allowed_bytes(&fs::read_to_string("/proc/self/limits").ok()?)? / BYTES_PER_MB;
    let needed_mb = RUN_MB + THREAD_MB * threads as u64;
    (allowed_mb < needed_mb).then(|| {
        format!(
            "this process may use {allowed_mb} MB of memory (ulimit -v), and may need {needed_mb} MB: if it ends with \
             \"memory allocation failed\", allow more, or give --threads 1"
        )
    })
}

/// The limit of address space in the text of a process' limits; none if there is none.
fn allowed_bytes(limits: &str) -> Option<u64> {
    let line = limits.lines().find_map(|line| line.strip_prefix("Max address space"))?;
    line.split_whitespace().next()?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_is_found_and_no_limit_is_none() {
        let text = |limit: &str| {
            format!("Limit  Soft Limit  Hard Limit  Units\nMax address space   {limit}   unlimited   bytes\n")
        };
        assert_eq!(allowed_bytes(&text("102400000")), Some(102_400_000));
        assert_eq!(allowed_bytes(&text("unlimited")), None);
        assert_eq!(allowed_bytes(""), None);
    }
}
