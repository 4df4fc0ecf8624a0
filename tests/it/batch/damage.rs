//! Tallies and checkpoints with damaged contents.

use super::Yard;
use sha2::{Digest, Sha256};
use stilldays::study::batch::Checkpoint;
use stilldays::study::batch::checkpoint::Flaw;
use stilldays::tally::{Damage, Tally};

/// A tally and a checkpoint as the program writes them.
fn sound() -> (Vec<u8>, Vec<u8>) {
    let yard = Yard::new();
    yard.design("basin.toml", "0.5 Ah ± 10 %");
    let args = ["batch", "designs", "--trials", "32", "--quiet"];
    assert_eq!(yard.run(&args).code, Some(0));
    let part = [&args[..], &["--part", "1/1"]].concat();
    assert_eq!(yard.run(&part).code, Some(0));
    let read = |name: &str| std::fs::read(yard.path(name)).unwrap();
    (read("results/basin/tally"), read("results/part-1-of-1/basin/part"))
}

/// The bytes with a correct checksum again, so that the contents themselves must be refused.
fn sealed(mut bytes: Vec<u8>) -> Vec<u8> {
    let body = bytes.len().saturating_sub(32);
    bytes.truncate(body);
    let sum: [u8; 32] = Sha256::digest(&bytes).into();
    bytes.extend_from_slice(&sum);
    bytes
}

#[test]
fn spoilt_bytes_are_refused_or_read_and_never_panic() {
    let (tally, part) = sound();
    assert_eq!(Tally::from_bytes(&tally).unwrap().to_bytes(), tally);
    assert_eq!(Checkpoint::from_bytes(&part).unwrap().to_bytes(), part);
    let mut tried = 0;
    for (whole, is_tally) in [(&tally, true), (&part, false)] {
        let refused = |bytes: &[u8]| match is_tally {
            true => Tally::from_bytes(bytes).is_err(),
            false => Checkpoint::from_bytes(bytes).is_err(),
        };
        for at in 0..whole.len() {
            assert!(refused(&whole[..at]), "cut at {at}");
            let mut spoilt = whole.clone();
            spoilt[at] ^= 1 << (at % 8);
            assert!(refused(&spoilt), "a bit at {at}");
            // With a sum that fits, some changes make another tally that may be: only no panic.
            refused(&sealed(spoilt.clone()));
            spoilt[at] = 0xff;
            refused(&sealed(spoilt.clone()));
            refused(&sealed(whole[..at].to_vec()));
            spoilt.remove(at);
            assert!(refused(&spoilt), "a byte lost at {at}");
            refused(&sealed(spoilt));
            tried += 7;
        }
        let mut longer = whole.clone();
        longer.extend_from_slice(&[0; 7]);
        assert!(refused(&longer) && refused(&sealed(longer)), "more than belongs");
    }
    println!("{tried} spoilt files");
    assert!(tried > 10_000, "{tried}");
}

/// Each with the message it must give.
#[test]
fn each_kind_of_damage_has_its_message() {
    let (tally, part) = sound();
    let with = |bytes: &[u8], at: usize, new: &[u8]| {
        let mut out = bytes.to_vec();
        out[at..at + new.len()].copy_from_slice(new);
        out
    };
    let tallies: [(Vec<u8>, &str); 7] = [
        (Vec::new(), "not a tally"),
        (b"PK\x03\x04 something else".to_vec(), "not a tally"),
        (with(&tally, 8, &10u32.to_le_bytes()), "a tally in format 10, which this version does not read"),
        (tally[..30].to_vec(), "a tally with too few or too many bytes"),
        (with(&tally, tally.len() / 2, b"spoilt"), "a damaged tally: wrong checksum"),
        (sealed(tally[..tally.len() / 2].to_vec()), "a tally with too few or too many bytes"),
        (vec![0; Tally::LARGEST_BYTES + 1], "too large for a tally"),
    ];
    for (bytes, message) in tallies {
        assert_eq!(Tally::from_bytes(&bytes).unwrap_err().to_string(), message);
    }
    let identity_length = u32::from_le_bytes(part[12..16].try_into().unwrap()) as usize;
    let numbers = 16 + identity_length;
    let inner = numbers + 24 + 4;
    let parts: [(Vec<u8>, &str); 11] = [
        (Vec::new(), "not a checkpoint"),
        (tally.clone(), "not a checkpoint"),
        (with(&part, 8, &2u32.to_le_bytes()), "a checkpoint in format 2, which this version does not read"),
        (part[..20].to_vec(), "a checkpoint with too few or too many bytes"),
        (with(&part, part.len() / 2, b"spoilt"), "a damaged checkpoint: wrong checksum"),
        (sealed(with(&part, 12, &u32::MAX.to_le_bytes())), "a checkpoint with too few or too many bytes"),
        (sealed(with(&part, 17, b"[[[[")), "a damaged checkpoint: what it was made from cannot be read"),
        (sealed(with(&part, numbers + 8, &[0; 8])), "a damaged checkpoint: impossible block numbers"),
        (sealed(with(&part, numbers, &[0xff; 8])), "a damaged checkpoint: impossible block numbers"),
        (sealed(with(&part, inner, b"oddtally")), "in the checkpoint: not a tally"),
        (vec![0; Tally::LARGEST_BYTES * 2], "too large for a checkpoint"),
    ];
    for (bytes, message) in parts {
        assert_eq!(Checkpoint::from_bytes(&bytes).unwrap_err().to_string(), message);
    }
    assert_eq!(Checkpoint::from_bytes(b"").unwrap_err(), Flaw::NotACheckpoint);
    assert_eq!(Tally::from_bytes(b"").unwrap_err(), Damage::NotATally);
}

#[test]
fn a_checkpoint_that_does_not_fit_is_named_and_started_over() {
    let yard = Yard::new();
    yard.design("basin.toml", "0.5 Ah");
    let whole = yard.undisturbed("48");
    let (_, other) = sound();
    let checkpoint = yard.path("results/basin/checkpoint");
    std::fs::create_dir_all(checkpoint.parent().unwrap()).unwrap();
    let half = Checkpoint::from_bytes(&other).unwrap();
    let torn = [&other[..other.len() / 2], &[0; 400], &other[other.len() / 2 + 400..]].concat();
    for (bytes, reason) in [
        (torn, "wrong checksum"),
        (other, "made from another text of the design"),
        (Checkpoint { done: 1, ..half }.to_bytes(), "made from another text of the design"),
    ] {
        std::fs::write(&checkpoint, bytes).unwrap();
        let said = yard.run(&["batch", "designs", "--trials", "48"]);
        assert_eq!(said.code, Some(0), "{said:?}");
        assert!(said.err.contains(reason), "{reason} in {said:?}");
        whole.assert_same(&yard.tree("results"), reason);
        std::fs::remove_file(yard.path("results/basin/seal.json")).unwrap();
    }
}
