//! What a file's name says of its ports.

/// N of `.sNp`.
pub(crate) fn ports_of_name(name: &str) -> Option<usize> {
    let extension = std::path::Path::new(name).extension()?.to_str()?;
    let extension = extension.to_ascii_lowercase();
    let digits = extension.strip_prefix('s')?.strip_suffix('p')?;
    let plain = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());
    plain.then(|| digits.parse().unwrap_or(usize::MAX))
}
