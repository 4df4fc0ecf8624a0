#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| -> libfuzzer_sys::Corpus {
    match stilldays_fuzz::logbook(bytes) {
        true => libfuzzer_sys::Corpus::Keep,
        false => libfuzzer_sys::Corpus::Reject,
    }
});
