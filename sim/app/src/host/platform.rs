//! What depends on the machine: is there a screen, is there something to draw with, files.

use std::io::Write;
use std::path::Path;

use jigwise_bench::shell;

use super::HostError;
use crate::NAME;

/// # Errors
/// [`HostError::NoDisplay`] where no window could open.
pub(super) fn require_display() -> Result<(), HostError> {
    let set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    if cfg!(target_os = "linux") && !set("DISPLAY") && !set("WAYLAND_DISPLAY") {
        return Err(HostError::NoDisplay);
    }
    Ok(())
}

/// Characters of what the display's libraries say.
const MOST_OF_A_REASON: usize = 200;

/// Prepares something that panics where the display named by the environment does not answer:
/// the event loop has no other way to say so. The program then ends with a sentence of ours.
pub(super) fn where_no_display_answers<T>(prepare: impl FnOnce() -> T) -> T {
    let hook = std::panic::take_hook();
    std::panic::set_hook(Box::new(|panic| {
        let said = panic.payload_as_str().unwrap_or("it gives no reason");
        let words: Vec<&str> = said.split_whitespace().collect();
        let error = HostError::SilentDisplay {
            reason: jigwise_bench::excerpt(&words.join(" "), MOST_OF_A_REASON),
        };
        shell::tell(NAME, &mut std::io::stderr(), &error);
        std::process::exit(i32::from(shell::BAD_INPUT));
    }));
    let prepared = prepare();
    std::panic::set_hook(hook);
    prepared
}

/// Bevy panics where there is no adapter; this asks first.
///
/// # Errors
/// [`HostError::NoAdapter`].
pub(super) fn require_adapter() -> Result<(), HostError> {
    let instance = wgpu::Instance::new(wgpu::InstanceDescriptor {
        backends: wgpu::Backends::from_env().unwrap_or_default(),
        ..wgpu::InstanceDescriptor::new_without_display_handle()
    });
    let request = instance.request_adapter(&wgpu::RequestAdapterOptions::default());
    bevy::tasks::block_on(request)
        .map(|_| ())
        .map_err(|_| HostError::NoAdapter)
}

/// Writes a file whole or not at all.
///
/// # Errors
/// [`HostError::Unwritable`].
pub(super) fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), HostError> {
    shell::write_whole(path, |out| out.write_all(bytes)).map_err(|error: std::io::Error| {
        HostError::Unwritable {
            path: path.to_owned(),
            reason: error.to_string(),
        }
    })
}
