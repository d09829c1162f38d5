//! One card for all tests of this binary.

use std::sync::LazyLock;

use foreshadow::gpu::{Choice, Gpu};

static CARD: LazyLock<Gpu> = LazyLock::new(|| match Gpu::open(&Choice::Auto) {
    Ok(gpu) => gpu,
    Err(fault) => panic!("{fault}"),
});

/// The card under test.
pub fn card() -> &'static Gpu {
    &CARD
}
