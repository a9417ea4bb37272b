//! The circuits of the three fixtures, with the part as a box marked Z.

use jigwise_physics::{Complex64, Fixture, Immittance, ReferenceImpedance};

use super::{Anchor, Dash, Ink, Mark, Point, Scene, Stroke};
use crate::words::{fixture_connection, fixture_title};

const WIDTH: f64 = 260.0;
const HEIGHT: f64 = 130.0;
const WIRE: f64 = 1.8;
/// Height of the through line.
const LINE_Y: f64 = 34.0;
const GROUND_Y: f64 = 112.0;

/// The circuit of a fixture.
pub fn circuit(fixture: Fixture) -> Scene {
    let mut marks = port(22.0, "1");
    match fixture {
        Fixture::Reflect => {
            marks.push(wire([36.0, LINE_Y], [130.0, LINE_Y]));
            marks.extend(branch_to_ground(130.0, fixture));
        }
        Fixture::ShuntThrough => {
            marks.push(wire([36.0, LINE_Y], [WIDTH - 36.0, LINE_Y]));
            marks.extend(branch_to_ground(130.0, fixture));
            marks.push(Mark::Circle {
                center: [130.0, LINE_Y],
                radius: 3.5,
                fill: Some(Ink::Text),
                stroke: None,
            });
            marks.extend(port(WIDTH - 22.0, "2"));
        }
        Fixture::SeriesThrough => {
            marks.push(wire([36.0, LINE_Y], [98.0, LINE_Y]));
            marks.extend(part([130.0, LINE_Y], [64.0, 30.0], fixture));
            marks.push(wire([162.0, LINE_Y], [WIDTH - 36.0, LINE_Y]));
            marks.extend(port(WIDTH - 22.0, "2"));
        }
    }
    Scene {
        size: [WIDTH, HEIGHT],
        title: format!("{} fixture", fixture_title(fixture)),
        description: description(fixture),
        marks,
    }
}

/// The circuit of a fixture in small, without writing: ports as rings, the part as a box.
pub fn mini_circuit(fixture: Fixture, [width, height]: [f64; 2]) -> Vec<Mark> {
    const RADIUS: f64 = 5.5;
    const BOX: [f64; 2] = [8.0, 6.0];
    let wire = |from: Point, to: Point| Mark::line(from, to, Stroke::solid(Ink::Text, 1.4));
    let middle = width / 2.0;
    let (line_y, box_y) = match fixture {
        Fixture::SeriesThrough => (height / 2.0, height / 2.0),
        Fixture::Reflect | Fixture::ShuntThrough => (RADIUS + 2.0, height - BOX[1] - 2.0),
    };
    let ring = |x: f64| Mark::Circle {
        center: [x, line_y],
        radius: RADIUS,
        fill: None,
        stroke: Some(Stroke::solid(Ink::Text, 1.4)),
    };
    let (first, last) = (RADIUS + 1.0, width - RADIUS - 1.0);
    let mut marks = vec![ring(first)];
    if fixture == Fixture::Reflect {
        marks.push(wire([first + RADIUS, line_y], [middle, line_y]));
    } else {
        marks.push(ring(last));
        let ends = if fixture == Fixture::SeriesThrough {
            [middle - BOX[0], middle + BOX[0]]
        } else {
            [middle, middle]
        };
        marks.push(wire([first + RADIUS, line_y], [ends[0], line_y]));
        marks.push(wire([ends[1], line_y], [last - RADIUS, line_y]));
    }
    if fixture != Fixture::SeriesThrough {
        marks.push(wire([middle, line_y], [middle, box_y - BOX[1]]));
    }
    let [dx, dy] = BOX;
    marks.push(Mark::Line {
        points: [
            [-1.0, -1.0],
            [1.0, -1.0],
            [1.0, 1.0],
            [-1.0, 1.0],
            [-1.0, -1.0],
        ]
        .map(|[sx, sy]| [middle + sx * dx, box_y + sy * dy])
        .to_vec(),
        stroke: Stroke::solid(Ink::Fixture(fixture), 2.0),
    });
    marks
}

/// The envelope of the wave on the circuit's line, in true proportion: before the part the sum
/// of what goes and what comes back over half a wavelength, behind it what passes. A wave of
/// amplitude one is as high as a port's ring. Empty where there is no reading.
pub fn envelope(fixture: Fixture, device: Immittance, reference: ReferenceImpedance) -> Vec<Mark> {
    const UNIT: f64 = 14.0;
    const STEPS: usize = 40;
    let stroke = Stroke {
        ink: Ink::Fixture(fixture),
        width: 1.2,
        dash: Dash::of(fixture),
    };
    let Some(reflection) = fixture.port_reflection(device, reference).value() else {
        return Vec::new();
    };
    let end_x = match fixture {
        Fixture::Reflect | Fixture::ShuntThrough => 130.0,
        Fixture::SeriesThrough => 98.0,
    };
    let height = |k: usize| {
        let back = k as f64 / STEPS as f64;
        let turned = Complex64::from_polar(1.0, -std::f64::consts::TAU * back);
        UNIT * (Complex64::ONE + reflection * turned).norm().min(4.0)
    };
    let side = |sign: f64| Mark::Line {
        points: (0..=STEPS)
            .map(|k| {
                let x = end_x - (end_x - 36.0) * k as f64 / STEPS as f64;
                [x, LINE_Y - sign * height(k)]
            })
            .collect(),
        stroke,
    };
    let mut marks = vec![side(1.0), side(-1.0)];
    let passed = fixture.reading(device, reference).value();
    if let Some(s21) = passed.filter(|_| fixture != Fixture::Reflect) {
        let from_x = if fixture == Fixture::SeriesThrough {
            162.0
        } else {
            end_x
        };
        let passed = UNIT * s21.norm().min(4.0);
        for sign in [1.0, -1.0] {
            let y = LINE_Y - sign * passed;
            marks.push(Mark::line([from_x, y], [WIDTH - 36.0, y], stroke));
        }
    }
    marks
}

fn description(fixture: Fixture) -> String {
    let ports = match fixture {
        Fixture::Reflect => "Port 1 drives the part, whose other end is at ground",
        Fixture::ShuntThrough => {
            "A line runs from port 1 to port 2; the part hangs between its middle and ground"
        }
        Fixture::SeriesThrough => {
            "The line from port 1 to port 2 is cut and the part bridges the cut"
        }
    };
    format!("{ports}: the part is {}.", fixture_connection(fixture))
}

fn wire(from: Point, to: Point) -> Mark {
    Mark::line(from, to, Stroke::solid(Ink::Text, WIRE))
}

/// A port: its number in a ring, the other end of its generator or receiver at ground.
fn port(x: f64, number: &str) -> Vec<Mark> {
    const RADIUS: f64 = 14.0;
    let mut marks = vec![
        Mark::Circle {
            center: [x, LINE_Y],
            radius: RADIUS,
            fill: None,
            stroke: Some(Stroke::solid(Ink::Text, WIRE)),
        },
        Mark::text([x, LINE_Y], number, 14.0, Anchor::Middle, Ink::Text),
        wire([x, LINE_Y + RADIUS], [x, GROUND_Y]),
    ];
    marks.extend(ground(x));
    marks
}

fn branch_to_ground(x: f64, fixture: Fixture) -> Vec<Mark> {
    let middle = f64::midpoint(LINE_Y, GROUND_Y);
    let mut marks = vec![wire([x, LINE_Y], [x, middle - 22.0])];
    marks.extend(part([x, middle], [40.0, 44.0], fixture));
    marks.push(wire([x, middle + 22.0], [x, GROUND_Y]));
    marks.extend(ground(x));
    marks
}

fn part(center: Point, size: [f64; 2], fixture: Fixture) -> Vec<Mark> {
    let [x, y] = center;
    let [dx, dy] = [size[0] / 2.0, size[1] / 2.0];
    let corner = |sx: f64, sy: f64| [x + sx * dx, y + sy * dy];
    vec![
        Mark::Line {
            points: vec![
                corner(-1.0, -1.0),
                corner(1.0, -1.0),
                corner(1.0, 1.0),
                corner(-1.0, 1.0),
                corner(-1.0, -1.0),
            ],
            stroke: Stroke {
                ink: Ink::Fixture(fixture),
                width: 2.4,
                dash: Dash::Solid,
            },
        },
        Mark::text(center, "Z", 17.0, Anchor::Middle, Ink::Fixture(fixture)),
    ]
}

fn ground(x: f64) -> Vec<Mark> {
    [(11.0, 0.0), (7.0, 4.0), (3.0, 8.0)]
        .map(|(half, down)| wire([x - half, GROUND_Y + down], [x + half, GROUND_Y + down]))
        .to_vec()
}
