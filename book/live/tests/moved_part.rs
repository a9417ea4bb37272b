//! A part in the reader's hand: moved, put back, and carried by a link.

use jigwise_bench::{Device, Scenario};
use jigwise_live::{MovedPart, PartError, Piece};
use jigwise_page::{JunkBox, Scenarios};

const NAME: &str = "bias-resistor-handheld";

fn value(key: &str) -> Piece {
    Piece::Value(format!("value {NAME} {key}"))
}

#[test]
fn what_is_printed_is_what_the_junk_box_says() {
    let part = MovedPart::of(NAME).unwrap();
    assert!(!part.is_moved());
    for key in ["device 2", "reflect.separation", "series-through.level 3"] {
        let piece = value(key);
        assert_eq!(piece.html(&part), piece.html(&JunkBox));
    }
}

/// 6 kΩ in series at 50 Ω: 20·log10(100/6100) = −35.71 dB, by the voltage divider.
#[test]
fn a_typed_part_moves_its_numbers_and_no_others() {
    let mut part = MovedPart::of(NAME).unwrap();
    part.type_part("6k").unwrap();
    assert!(part.is_moved());
    let level = value("series-through.level 2").html(&part).unwrap();
    assert_eq!(level, "−35.71\u{202f}dB");
    let other = Piece::Value("value match reference 2".to_owned());
    assert_eq!(other.html(&part), other.html(&JunkBox));
    part.put_back();
    assert!(!part.is_moved());
}

#[test]
fn what_is_refused_changes_nothing() {
    let mut part = MovedPart::of(NAME).unwrap();
    let before = part.clone();
    assert!(matches!(
        part.type_part("banana"),
        Err(PartError::Device(_))
    ));
    assert!(matches!(
        part.drag("nowhere", [1.0, 1.0]),
        Err(PartError::NoPlace)
    ));
    assert!(matches!(
        part.drag("chart", [f64::NAN, 1.0]),
        Err(PartError::NoPlace)
    ));
    assert!(matches!(
        part.step(f64::INFINITY, 0.0),
        Err(PartError::NoPlace)
    ));
    assert_eq!(part, before);
    assert!(matches!(MovedPart::of("open"), Err(PartError::IsAnEnd(_))));
    assert!(matches!(
        MovedPart::of("no-such-part"),
        Err(PartError::Unknown(_))
    ));
}

#[test]
fn a_coil_that_is_dragged_stays_a_coil_while_it_can() {
    let mut part = MovedPart::of("receiver-choke").unwrap();
    part.set_polar(3.0, 80.0).unwrap();
    assert!(matches!(part.scenario_now().device, Device::Part(_)));
    part.set_polar(3.0, -80.0).unwrap();
    assert!(matches!(part.scenario_now().device, Device::Fixed(_)));
    part.set_polar(3.0, 80.0).unwrap();
    assert!(matches!(part.scenario_now().device, Device::Part(_)));
    assert!((part.log_ohm() - 3.0).abs() < 1e-12 && (part.degrees() - 80.0).abs() < 1e-9);
}

#[test]
fn a_link_carries_the_part() {
    let mut part = MovedPart::of(NAME).unwrap();
    part.type_part("33 - j20").unwrap();
    let fragment = part.fragment().unwrap();
    let again = MovedPart::from_fragment(NAME, &fragment).unwrap();
    assert_eq!(again, part);
    assert_eq!(
        Scenario::from_fragment(&fragment).as_ref(),
        Ok(part.scenario_now())
    );
    let refused = MovedPart::from_fragment(NAME, "#bench=1.%zz").unwrap_err();
    assert!(refused.to_string().contains("damaged"), "{refused}");
}

#[test]
fn calibrations_count_from_where_the_part_came_to_rest() {
    let mut part = MovedPart::of(NAME).unwrap();
    for _ in 0..3 {
        part.calibrate_again();
    }
    assert_eq!(part.calibrations(NAME).here, 3);
    part.step(1.0, 0.0).unwrap();
    let calibrations = part.calibrations(NAME);
    assert_eq!((calibrations.here, calibrations.in_force), (0, 3));
    assert_eq!(part.calibrations("match").in_force, 0);
}

/// What is left out of a map's second picture is the same for every part: with it put in, the
/// picture is the whole one.
#[test]
fn a_maps_still_layer_does_not_follow_the_part() {
    const EMPTY: &str = "<g class=\"jw-still\"></g>";
    for aim in ["value", "change"] {
        let piece = Piece::Block {
            info: format!("map {aim} {NAME}"),
            body: String::new(),
            id: "map".to_owned(),
        };
        let mut part = MovedPart::of(NAME).unwrap();
        let printed = piece.html(&part).unwrap();
        let (before, after) = {
            let light = piece.html_over_still_layers(&part).unwrap();
            let (before, after) = light.split_once(EMPTY).unwrap();
            assert!(printed.len() > 10 * light.len());
            (before.len(), after.len())
        };
        let layer = &printed[before..printed.len() - after];
        for typed in ["0", "1 - j1", "47", "330p", "6k", "open"] {
            part.type_part(typed).unwrap();
            let light = piece.html_over_still_layers(&part).unwrap();
            let whole = piece.html(&part).unwrap();
            assert_eq!(light.replace(EMPTY, layer), whole, "{aim} {typed}");
            assert_ne!(whole, printed);
        }
    }
}
