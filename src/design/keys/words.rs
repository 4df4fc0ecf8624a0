//! Closed lists of words that a key may hold, and what each stands for.
//!
//! Each list is made from an enum, once for the key table and the readers: a word without a meaning, or a variant
//! without a word, does not compile.

use crate::design::parts::{
    CellTechnology, Charging, Chemistry, FedFirst, Front, Head, MountKind, PumpKind, RunsWhen, TreeKind,
    WeatherYears, Winter,
};

/// A word, and other spellings that are understood.
#[derive(Debug)]
pub(in crate::design) struct Word {
    pub word: &'static str,
    pub also: &'static [&'static str],
}

/// An enum each of whose variants is written as a word.
pub(in crate::design) trait WordList: Copy + 'static {
    /// The words, in the order of [`WordList::ALL`].
    const WORDS: &'static [Word];
    /// What they stand for.
    const ALL: &'static [Self];

    /// The word for a variant.
    fn word(self) -> &'static str;

    /// What a word of the list stands for.
    fn of(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|variant| variant.word() == word)
    }
}

macro_rules! words {
    ($type:ident { $($variant:ident = $word:literal $(or $also:literal)*,)+ }) => {
        impl WordList for $type {
            const WORDS: &'static [Word] = &[$(Word { word: $word, also: &[$($also),*] }),+];
            const ALL: &'static [Self] = &[$($type::$variant),+];
            fn word(self) -> &'static str {
                match self {
                    $($type::$variant => $word,)+
                }
            }
        }
    };
}

words!(MountKind {
    Fixed = "fixed",
    SunFollowing = "sun-following" or "sun following",
    LightSeeking = "light-seeking" or "light seeking",
});

words!(Head {
    Walls = "walls",
    Tilted = "tilted",
    BackToBack = "back-to-back" or "back to back",
});

words!(PumpKind {
    Brushed = "brushed",
    Electronic = "electronic" or "brushless",
});

words!(CellTechnology {
    Crystalline = "crystalline"
        or "monocrystalline" or "polycrystalline" or "mono" or "poly" or "silicon",
    Cigs = "CIGS" or "CIS" or "thin film",
    Amorphous = "amorphous" or "amorphous silicon" or "a-Si",
});

words!(Chemistry {
    // Pouch cells of the trade are lithium ion cells: the same voltages, another case (common practice, no source).
    LithiumIon = "lithium ion"
        or "lithium-ion" or "li-ion" or "NMC" or "LCO" or "LiPo" or "Li-Po" or "lithium polymer" or "lithium-polymer",
    LithiumIronPhosphate = "lithium iron phosphate" or "LiFePO4" or "LFP",
    LeadAcid = "lead-acid" or "lead acid" or "AGM" or "gel",
    NickelMetalHydride = "nickel-metal hydride" or "nickel metal hydride" or "NiMH",
});

words!(Front {
    Glass = "glass",
    Fluoropolymer = "fluoropolymer" or "ETFE",
    Pet = "PET" or "pet",
    Resin = "resin" or "epoxy",
});

words!(Charging {
    Direct = "direct",
    Pwm = "pwm" or "PWM",
    Mppt = "mppt" or "MPPT",
});

words!(WeatherYears {
    ByFile = "by file",
    Typical = "typical" or "typical year",
    Measured = "measured" or "real",
});

words!(TreeKind {
    Mixed = "mixed",
    Dense = "dense" or "lime" or "maple" or "chestnut",
    Light = "light" or "birch" or "ash" or "locust",
    Conifer = "conifer" or "spruce" or "pine",
});

words!(Winter {
    LeftOut = "left out" or "left outside" or "outside",
    TakenIn = "taken in" or "indoors" or "inside",
});

words!(FedFirst {
    Pump = "pump",
    Mount = "mount",
});

words!(RunsWhen {
    Wanted = "wanted hours" or "wanted",
    Always = "always",
    Light = "light" or "light switch",
    Timer = "timer",
});
