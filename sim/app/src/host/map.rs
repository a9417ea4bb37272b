//! The map behind the chart: one image, painted again only when what it shows has changed, a
//! few rows a frame where they are dear.

use bevy::app::{App, Update};
use bevy::asset::{Assets, Handle, RenderAssetUsages};
use bevy::ecs::message::MessageWriter;
use bevy::ecs::system::{Local, ResMut};
use bevy::image::Image;
use bevy::render::render_resource::{Extent3d, TextureDimension, TextureFormat};
use bevy::window::RequestRedraw;
use bevy_egui::{EguiContexts, EguiTextureHandle};
use jigwise_bench::scene::{ChartFrame, ChartKind, MapAim, MapPainting};
use jigwise_bench::{NamedInstrument, ReferenceImpedance};

use crate::{Desk, Stage, Theme};

/// Pixels of one side.
const SIDE: usize = 256;
/// Rows of the dear map painted in one frame: below 8 ms of one core.
const ROWS_A_FRAME: usize = 6;

/// What a map depends on.
#[derive(Debug, Clone, PartialEq)]
struct MapKey {
    aim: MapAim,
    kind: ChartKind,
    instrument: NamedInstrument,
    reference: ReferenceImpedance,
    connections: u32,
    theme: Theme,
}

/// The map as far as it has come.
#[derive(Default)]
pub(super) struct Easel {
    image: Option<Handle<Image>>,
    painted: Option<(MapKey, MapPainting)>,
}

pub(super) fn plugin(app: &mut App) {
    app.add_systems(Update, paint_map);
}

fn paint_map(
    mut desk: ResMut<Desk>,
    mut easel: Local<Easel>,
    mut images: ResMut<Assets<Image>>,
    mut contexts: EguiContexts,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    let (Some(aim), Stage::Chart(kind)) = (desk.layers.map, desk.stage) else {
        return;
    };
    let key = MapKey {
        aim,
        kind,
        instrument: desk.instrument(),
        reference: desk.readout().reference,
        connections: desk.scenario().connections,
        theme: desk.theme,
    };
    if easel.painted.as_ref().is_none_or(|(kept, _)| *kept != key) {
        let frame = ChartFrame {
            kind,
            size: [1.0, 1.0],
            reference: key.reference,
        };
        let painting = MapPainting::new(desk.bench(), &frame, aim, desk.theme.palette(), SIDE);
        easel.painted = painting.map(|painting| (key, painting));
    }
    let Easel { image, painted } = &mut *easel;
    let Some((_, painting)) = painted.as_mut().filter(|(_, painting)| !painting.is_done()) else {
        return;
    };
    painting.advance(ROWS_A_FRAME);
    desk.map_unfinished = !painting.is_done();
    let handle = image.get_or_insert_with(|| {
        let handle = images.add(blank());
        let texture = contexts.add_image(EguiTextureHandle::Strong(handle.clone()));
        desk.map_texture = Some(texture);
        handle
    });
    if let Some(mut image) = images.get_mut(&*handle) {
        image.data = Some(painting.rgba().to_vec());
    }
    redraw.write(RequestRedraw);
}

fn blank() -> Image {
    let side = SIDE as u32;
    Image::new_fill(
        Extent3d {
            width: side,
            height: side,
            depth_or_array_layers: 1,
        },
        TextureDimension::D2,
        &[0; 4],
        TextureFormat::Rgba8UnormSrgb,
        RenderAssetUsages::default(),
    )
}
