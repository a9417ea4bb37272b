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

use crate::{Desk, Simulator, Stage, Theme, View};

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

impl MapKey {
    /// `None` where no map is wanted.
    fn of(desk: &Desk, view: &View) -> Option<Self> {
        let (Some(aim), Stage::Chart(kind)) = (view.layers.map, view.stage) else {
            return None;
        };
        Some(Self {
            aim,
            kind,
            instrument: desk.instrument(),
            reference: desk.scenario().reference,
            connections: desk.scenario().connections,
            theme: view.theme,
        })
    }

    fn painting(&self, desk: &Desk) -> Option<MapPainting> {
        let frame = ChartFrame {
            kind: self.kind,
            size: [1.0, 1.0],
            reference: self.reference,
        };
        MapPainting::new(desk.bench(), &frame, self.aim, self.theme.palette(), SIDE)
    }
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
    mut simulator: ResMut<Simulator>,
    mut easel: Local<Easel>,
    mut images: ResMut<Assets<Image>>,
    mut contexts: EguiContexts,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    let Some(key) = MapKey::of(&simulator.desk, &simulator.view) else {
        return;
    };
    let Easel { image, painted } = &mut *easel;
    if painted.as_ref().is_none_or(|(kept, _)| *kept != key) {
        *painted = key
            .painting(&simulator.desk)
            .map(|painting| (key, painting));
    }
    let Some((_, painting)) = painted.as_mut().filter(|(_, painting)| !painting.is_done()) else {
        return;
    };
    painting.advance(ROWS_A_FRAME);
    let map = &mut simulator.memory.map;
    map.unfinished = !painting.is_done();
    let handle = image.get_or_insert_with(|| {
        let handle = images.add(blank());
        map.texture = Some(contexts.add_image(EguiTextureHandle::Strong(handle.clone())));
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
