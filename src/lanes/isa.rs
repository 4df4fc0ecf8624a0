//! Which instruction sets there are, and which this processor has.

use std::fmt;

/// An instruction set that this processor has: [`PLAIN`](Isa::PLAIN) and [`DOUBLE`](Isa::DOUBLE), which every one has, or one that
/// [`detect`](Isa::detect) or [`available`](Isa::available) found. No other can be made.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Isa(Kind);

/// Kinds of instruction sets. Other modules see one only inside an [`Isa`], so the processor has it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    Plain,
    #[cfg(target_arch = "x86_64")]
    Sse2,
    #[cfg(target_arch = "x86_64")]
    Avx2,
    #[cfg(target_arch = "x86_64")]
    Avx512,
    #[cfg(target_arch = "aarch64")]
    Neon,
    Double,
}

impl Isa {
    /// One trial at a time, any processor.
    pub const PLAIN: Isa = Isa(Kind::Plain);
    /// One trial at a time in double precision, for tests of what single precision changes. Its bits differ from the others'.
    /// Values in a [`RowF32`](super::RowF32) are rounded all the same.
    pub const DOUBLE: Isa = Isa(Kind::Double);

    /// The widest this processor has.
    pub fn detect() -> Isa {
        Isa::available().last().unwrap_or(Isa::PLAIN)
    }

    /// Those this processor has that give the same bits, narrowest first: plain; four lanes a vector (SSE2), eight (AVX2),
    /// sixteen (AVX-512). On 64-bit ARM: plain; four (NEON).
    pub fn available() -> impl Iterator<Item = Isa> {
        #[cfg(target_arch = "x86_64")]
        let vectors = [
            // Every x86-64 has it.
            (Kind::Sse2, true),
            (Kind::Avx2, std::arch::is_x86_feature_detected!("avx2")),
            (
                Kind::Avx512,
                std::arch::is_x86_feature_detected!("avx512f")
                    && std::arch::is_x86_feature_detected!("avx512dq")
                    && std::arch::is_x86_feature_detected!("avx2"),
            ),
        ];
        // Every 64-bit ARM processor has it.
        #[cfg(target_arch = "aarch64")]
        let vectors = [(Kind::Neon, true)];
        #[cfg(not(any(target_arch = "x86_64", target_arch = "aarch64")))]
        let vectors: [(Kind, bool); 0] = [];
        [(Kind::Plain, true)].into_iter().chain(vectors).filter(|(_, has)| *has).map(|(kind, _)| Isa(kind))
    }

    /// Its name on the command line and in messages.
    pub fn name(self) -> &'static str {
        match self.0 {
            Kind::Plain => "plain",
            #[cfg(target_arch = "x86_64")]
            Kind::Sse2 => "sse2",
            #[cfg(target_arch = "x86_64")]
            Kind::Avx2 => "avx2",
            #[cfg(target_arch = "x86_64")]
            Kind::Avx512 => "avx-512",
            #[cfg(target_arch = "aarch64")]
            Kind::Neon => "neon",
            Kind::Double => "double",
        }
    }

    /// The instruction set of this name, if this processor has it and it gives the same bits as the others.
    ///
    /// # Errors
    /// Which ones there are.
    pub fn named(name: &str) -> Result<Isa, String> {
        Isa::available().find(|isa| isa.name() == name).ok_or_else(|| {
            let names: Vec<_> = Isa::available().map(Isa::name).collect();
            format!("this processor has no instruction set `{name}`; it has: {}", names.join(", "))
        })
    }

    /// Which one it is: the processor has it.
    pub(super) fn kind(self) -> Kind {
        self.0
    }
}

impl fmt::Debug for Isa {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}
