//! Runs a kernel on an instruction set.

use super::isa::{Isa, Kind};
use super::lane::Kernel;
#[cfg(target_arch = "aarch64")]
use super::neon;
#[cfg(target_arch = "x86_64")]
use super::x86;

/// Runs a kernel on an instruction set.
pub fn run<K: Kernel>(isa: Isa, kernel: K) -> K::Out {
    match isa.kind() {
        Kind::Double if K::IN_DOUBLE => kernel.run::<f64>(),
        Kind::Plain | Kind::Double => kernel.run::<f32>(),
        #[cfg(target_arch = "x86_64")]
        Kind::Sse2 | Kind::Avx2 | Kind::Avx512 => x86::run(isa, kernel),
        #[cfg(target_arch = "aarch64")]
        Kind::Neon => neon::run(kernel),
    }
}
