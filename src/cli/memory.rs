//! Memory: whether the system lets this process have what a run needs (Linux only), and a word where it gives no more.

use std::alloc::{GlobalAlloc, Layout, System};
use std::fs;
use std::io::Write;
use std::sync::atomic::{AtomicBool, Ordering};

/// What a command takes at most, and each thread more, MB. Measured for a run: 60 MB do with one thread, 70 MB with two, 90 MB with eight.
const RUN_MB: u64 = 128;
const THREAD_MB: u64 = 8;
/// Stack of the first thread that is asked for at once, bytes.
const STACK: usize = 1 << 20;
const BYTES_PER_MB: u64 = 1_000_000;

/// A warning where less memory is allowed than so many threads may need.
pub fn shortage(threads: usize) -> Option<String> {
    let allowed_mb = allowed_bytes()? / BYTES_PER_MB;
    let needed_mb = RUN_MB + THREAD_MB * threads as u64;
    (allowed_mb < needed_mb).then(|| {
        format!(
            "this process may use {allowed_mb} MB of memory (ulimit -v), and may need {needed_mb} MB: if that does not do, \
             allow more, or give --threads 1"
        )
    })
}

/// Where the address space is limited, all threads take their memory from one place: the C library would set 64 MB aside for each, and while it does
/// so, 128. The first thread asks for its stack: one that cannot grow later ends the process without a word.
pub fn kept_together_where_limited() {
    if allowed_bytes().is_none() {
        return;
    }
    #[cfg(all(target_os = "linux", target_env = "gnu"))]
    // SAFETY: sets a number of the allocator; called before any other thread starts.
    unsafe {
        libc::mallopt(libc::M_ARENA_MAX, 1);
    }
    std::hint::black_box(&mut [0u8; STACK]);
}

/// The limit of this process' address space; none if there is none.
fn allowed_bytes() -> Option<u64> {
    address_space(&fs::read_to_string("/proc/self/limits").ok()?)
}

/// The limit of address space in the text of a process' limits; none if there is none.
fn address_space(limits: &str) -> Option<u64> {
    let line = limits.lines().find_map(|line| line.strip_prefix("Max address space"))?;
    line.split_whitespace().next()?.parse().ok()
}

/// The system's allocator. Where it has no memory left, the program ends with a message and exit code 1; without this it aborts, with words of
/// the language.
struct TellingAllocator;

#[global_allocator]
static ALLOCATOR: TellingAllocator = TellingAllocator;

// SAFETY: what is asked is handed on to the system's allocator, and so is what it gives unless that is nothing; then nothing returns.
unsafe impl GlobalAlloc for TellingAllocator {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        // SAFETY: the caller's promises are the system's.
        there(unsafe { System.alloc(layout) }, layout.size())
    }
    unsafe fn alloc_zeroed(&self, layout: Layout) -> *mut u8 {
        // SAFETY: the caller's promises are the system's.
        there(unsafe { System.alloc_zeroed(layout) }, layout.size())
    }
    unsafe fn realloc(&self, old: *mut u8, layout: Layout, bytes: usize) -> *mut u8 {
        // SAFETY: the caller's promises are the system's.
        there(unsafe { System.realloc(old, layout, bytes) }, bytes)
    }
    unsafe fn dealloc(&self, old: *mut u8, layout: Layout) {
        // SAFETY: the caller's promises are the system's.
        unsafe { System.dealloc(old, layout) }
    }
}

/// The memory, if there is any.
#[inline]
fn there(memory: *mut u8, bytes: usize) -> *mut u8 {
    if memory.is_null() {
        end_without_memory(bytes);
    }
    memory
}

/// Says that there is no memory left and ends the process, without asking for any. Whatever was being written stays as it was, as after a kill.
#[cold]
fn end_without_memory(bytes: usize) -> ! {
    static TOLD: AtomicBool = AtomicBool::new(false);
    if TOLD.swap(true, Ordering::Relaxed) {
        // Another thread is about to end the process.
        loop {
            std::thread::park();
        }
    }
    let mut text = [0u8; 320];
    let mut rest = &mut text[..];
    let _ = writeln!(
        rest,
        "error: there is no memory left ({bytes} bytes more were asked for): allow this process more (ulimit -v, or the limit of \
         its job or container), or give --threads 1"
    );
    let left = rest.len();
    // At once: other threads may be writing, too.
    let _ = std::io::stderr().write_all(&text[..text.len() - left]);
    #[cfg(unix)]
    signal_hook::low_level::exit(1);
    #[cfg(not(unix))]
    std::process::exit(1);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_is_found_and_no_limit_is_none() {
        let text = |limit: &str| {
            format!("Limit  Soft Limit  Hard Limit  Units\nMax address space   {limit}   unlimited   bytes\n")
        };
        assert_eq!(address_space(&text("102400000")), Some(102_400_000));
        assert_eq!(address_space(&text("unlimited")), None);
        assert_eq!(address_space(""), None);
    }
}
