//! One frame into a file, without a window or a display.

use std::io::Cursor;
use std::path::Path;
use std::sync::{Arc, Mutex};

use bevy::DefaultPlugins;
use bevy::app::{App, PluginGroup};
use bevy::asset::{Assets, Handle, RenderAssetUsages};
use bevy::camera::{Camera2d, RenderTarget};
use bevy::ecs::observer::On;
use bevy::ecs::query::With;
use bevy::image::Image;
use bevy::render::RenderPlugin;
use bevy::render::render_resource::{Extent3d, TextureDimension, TextureFormat, TextureUsages};
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured};
use bevy::utils::default;
use bevy::window::{ExitCondition, WindowPlugin};
use bevy::winit::WinitPlugin;
use bevy_egui::{EguiContext, EguiInput, EguiOutput, PrimaryEguiContext};

use super::{HostError, log, platform, spoken_lines};
use crate::Simulator;

/// Frames drawn before the picture is taken: fonts and layout need a few.
const FRAMES_BEFORE: usize = 8;
/// Frames waited for a map to be painted and the last move to be spoken of.
const FRAMES_AT_MOST: usize = 2_000;
/// Frames waited for the picture to come back from the adapter.
const FRAMES_FOR_PICTURE: usize = 200;

/// Draws the simulator at `size` pixels into `png`, and what the frame says to a screen reader
/// into a file of the same name that ends in `.txt`.
///
/// # Errors
/// [`HostError`] where nothing can draw or the files can't be written.
pub fn take(simulator: Simulator, size: [u32; 2], png: &Path) -> Result<(), HostError> {
    let mut studio = Studio::new(simulator, size)?;
    studio.draw_until_at_rest();
    let lines = studio.spoken();
    let image = studio.captured().ok_or(HostError::NoPicture)?;
    platform::write_whole(png, &encoded(image)?)?;
    let text = lines.join("\n") + "\n";
    platform::write_whole(&png.with_extension("txt"), text.as_bytes())
}

/// The simulator drawn into an image instead of a window.
pub struct Studio {
    app: App,
    target: Handle<Image>,
}

impl Studio {
    /// A studio of `size` pixels, with nothing drawn yet.
    ///
    /// # Errors
    /// [`HostError::NoAdapter`] where nothing can draw.
    pub fn new(simulator: Simulator, [width, height]: [u32; 2]) -> Result<Self, HostError> {
        platform::require_adapter()?;
        let mut app = App::new();
        app.add_plugins(
            DefaultPlugins
                .build()
                .disable::<WinitPlugin>()
                .set(WindowPlugin {
                    primary_window: None,
                    exit_condition: ExitCondition::DontExit,
                    ..default()
                })
                .set(RenderPlugin {
                    synchronous_pipeline_compilation: true,
                    ..default()
                })
                .set(log::quiet()),
        )
        .insert_resource(simulator)
        .add_plugins(super::plugin);
        app.finish();
        app.cleanup();
        let target = app
            .world_mut()
            .resource_mut::<Assets<Image>>()
            .add(canvas(width, height));
        app.world_mut()
            .spawn((Camera2d, RenderTarget::Image(target.clone().into())));
        Ok(Self { app, target })
    }

    /// Gives the picture another size, as a window that is resized.
    pub fn resize(&mut self, [width, height]: [u32; 2]) {
        let mut images = self.app.world_mut().resource_mut::<Assets<Image>>();
        let _ = images.insert(self.target.id(), canvas(width, height));
    }

    /// Draws a frame that hears `events`.
    pub fn hear(&mut self, events: impl IntoIterator<Item = egui::Event>) {
        let world = self.app.world_mut();
        let mut inputs = world.query_filtered::<&mut EguiInput, With<PrimaryEguiContext>>();
        if let Some(mut input) = inputs.iter_mut(world).next() {
            input.events.extend(events);
        }
        self.app.update();
    }

    /// Takes the keyboard from whatever has it.
    pub fn let_go(&mut self) {
        self.for_context(|context| {
            context.memory_mut(|memory| {
                if let Some(id) = memory.focused() {
                    memory.surrender_focus(id);
                }
            });
        });
    }

    /// What is on the desk, and how it is looked at.
    pub fn simulator(&self) -> &Simulator {
        self.app.world().resource()
    }

    /// The settled picture, four bytes a pixel; `None` where the adapter gives none back in time.
    pub fn pixels(&mut self) -> Option<Vec<u8>> {
        self.draw_until_at_rest();
        self.captured()?.data
    }

    fn for_context(&mut self, mut with: impl FnMut(&mut egui::Context)) {
        let world = self.app.world_mut();
        let mut contexts = world.query_filtered::<&mut EguiContext, With<PrimaryEguiContext>>();
        for mut context in contexts.iter_mut(world) {
            with(context.get_mut());
        }
    }

    fn draw_until_at_rest(&mut self) {
        for frame in 0..FRAMES_AT_MOST {
            let is_at_work = self.simulator().memory.is_at_work();
            if frame >= FRAMES_BEFORE && !is_at_work {
                break;
            }
            self.app.update();
            self.for_context(|context| context.enable_accesskit());
        }
        // What came last reaches the screen a frame later.
        self.app.update();
        self.app.update();
    }

    /// The picture as the adapter gives it back; `None` where it gives none back in time.
    fn captured(&mut self) -> Option<Image> {
        let taken: Arc<Mutex<Option<Image>>> = Arc::default();
        let slot = Arc::clone(&taken);
        let target = self.target.clone();
        self.app
            .world_mut()
            .spawn(Screenshot::image(target))
            .observe(move |captured: On<ScreenshotCaptured>| {
                if let Ok(mut slot) = slot.lock() {
                    *slot = Some(captured.image.clone());
                }
            });
        (0..FRAMES_FOR_PICTURE).find_map(|_| {
            self.app.update();
            taken.lock().ok()?.take()
        })
    }

    fn spoken(&mut self) -> Vec<String> {
        let world = self.app.world_mut();
        let mut outputs = world.query_filtered::<&EguiOutput, With<PrimaryEguiContext>>();
        outputs
            .iter(world)
            .filter_map(|output| output.platform_output.accesskit_update.as_ref())
            .flat_map(spoken_lines)
            .collect()
    }
}

fn canvas(width: u32, height: u32) -> Image {
    let mut image = Image::new_fill(
        Extent3d {
            width,
            height,
            depth_or_array_layers: 1,
        },
        TextureDimension::D2,
        &[0; 4],
        TextureFormat::Rgba8UnormSrgb,
        RenderAssetUsages::default(),
    );
    image.texture_descriptor.usage = TextureUsages::TEXTURE_BINDING
        | TextureUsages::COPY_SRC
        | TextureUsages::COPY_DST
        | TextureUsages::RENDER_ATTACHMENT;
    image
}

fn encoded(image: Image) -> Result<Vec<u8>, HostError> {
    let picture = image.try_into_dynamic().map_err(|_| HostError::NoPicture)?;
    let mut bytes = Cursor::new(Vec::new());
    picture
        .to_rgb8()
        .write_to(&mut bytes, image::ImageFormat::Png)
        .map_err(|_| HostError::NoPicture)?;
    Ok(bytes.into_inner())
}
