//! Which blocks one machine simulates, if a batch is split into parts.

use crate::study::run::Stride;
use std::fmt;
use std::str::FromStr;

/// Maximum number of parts.
pub(crate) const MOST_PARTS: u64 = 10_000;

/// Part `part` of `of`, counted from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Share {
    /// 1..=`of`.
    pub part: u64,
    /// 1..=[`MOST_PARTS`].
    pub of: u64,
}

impl Share {
    /// The blocks of design number `design` (from 0) that belong to this part, if each design has `blocks` blocks. The
    /// blocks of all designs are numbered consecutively and dealt to the parts in turn, so that the first parts do not get
    /// more if there are fewer blocks than parts.
    pub(crate) fn stride(self, design: u64, blocks: u64) -> Stride {
        let before = (design % self.of) * (blocks % self.of) % self.of;
        Stride { first: (self.part - 1 + self.of - before) % self.of, step: self.of }
    }

    /// Name of the part's folder within the results.
    pub fn folder(self) -> String {
        format!("part-{}-of-{}", self.part, self.of)
    }
}

impl fmt::Display for Share {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.part, self.of)
    }
}

impl FromStr for Share {
    type Err = String;

    fn from_str(text: &str) -> Result<Share, String> {
        let number = |t: &str| t.trim().parse::<u64>().ok();
        text.split_once('/')
            .and_then(|(part, of)| Some(Share { part: number(part)?, of: number(of)? }))
            .filter(|s| (1..=MOST_PARTS).contains(&s.of) && (1..=s.of).contains(&s.part))
            .ok_or_else(|| format!("`{text}` is not a part: write K/N with K from 1 to N, such as 3/16"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lanes::BLOCK;

    #[test]
    fn every_block_of_every_design_falls_to_one_part() {
        for (designs, blocks, of) in [(5, 3, 16), (7, 63, 16), (3, 1, 2), (4, 16, 16)] {
            let mut owned = vec![0; of as usize];
            for design in 0..designs {
                let mut seen = Vec::new();
                for part in 1..=of {
                    let stride = Share { part, of }.stride(design, blocks);
                    let count = stride.count(blocks * BLOCK as u64);
                    owned[part as usize - 1] += count;
                    seen.extend((0..count).map(|k| stride.block(k)));
                }
                seen.sort_unstable();
                assert_eq!(seen, (0..blocks).collect::<Vec<_>>(), "{designs} {blocks} {of}");
            }
            let (most, least) = (owned.iter().max().unwrap(), owned.iter().min().unwrap());
            assert!(most - least <= 1, "uneven: {owned:?}");
        }
    }

    #[test]
    fn parts_are_read_and_nonsense_is_refused() {
        assert_eq!("3/16".parse(), Ok(Share { part: 3, of: 16 }));
        for bad in ["", "3", "0/4", "5/4", "1/0", "a/b", "-1/4", "1/10001", "1/2/3"] {
            assert!(bad.parse::<Share>().unwrap_err().contains("3/16"), "{bad}");
        }
    }
}
