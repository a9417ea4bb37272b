//! Numbers that nobody foresees, for rounds and parts that nobody named.

/// 64 bits that differ from start to start.
#[cfg(not(target_arch = "wasm32"))]
pub(super) fn bits() -> u64 {
    use std::hash::{BuildHasher, Hasher};
    // The keys of a fresh hasher come from the operating system.
    std::collections::hash_map::RandomState::new()
        .build_hasher()
        .finish()
}

/// 64 bits that differ from start to start.
#[cfg(target_arch = "wasm32")]
pub(super) fn bits() -> u64 {
    let half = || (js_sys::Math::random() * f64::from(u32::MAX)) as u64;
    half() << 32 | half()
}
