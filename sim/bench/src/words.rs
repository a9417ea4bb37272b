//! The sentences, each written once.

use jigwise_physics::{Fixture, ReferenceImpedance};

use crate::show::engineering;

/// The fixture's name as the text command and scenario files write it.
pub fn fixture_key(fixture: Fixture) -> &'static str {
    match fixture {
        Fixture::Reflect => "reflect",
        Fixture::ShuntThrough => "shunt-through",
        Fixture::SeriesThrough => "series-through",
    }
}

/// The fixture's name in a heading.
pub fn fixture_title(fixture: Fixture) -> &'static str {
    match fixture {
        Fixture::Reflect => "Reflect",
        Fixture::ShuntThrough => "Shunt-through",
        Fixture::SeriesThrough => "Series-through",
    }
}

/// How the part is connected, in a few words.
pub fn fixture_connection(fixture: Fixture) -> &'static str {
    match fixture {
        Fixture::Reflect => "across one port",
        Fixture::ShuntThrough => "from the through line to ground",
        Fixture::SeriesThrough => "between the two ports",
    }
}

/// The S-parameter that is the fixture's reading.
pub fn reading_name(fixture: Fixture) -> &'static str {
    match fixture {
        Fixture::Reflect => "S11",
        Fixture::ShuntThrough | Fixture::SeriesThrough => "S21",
    }
}

/// Why there is no reading: an active part at Z = −Z0, −Z0/2 or −2·Z0.
pub fn no_reading(fixture: Fixture, reference: ReferenceImpedance) -> String {
    let factor = match fixture {
        Fixture::Reflect => 1.0,
        Fixture::ShuntThrough => 0.5,
        Fixture::SeriesThrough => 2.0,
    };
    format!(
        "no reading: an active part of {} in the {} fixture feeds back all it is given, so \
         this would oscillate",
        engineering(-factor * reference.ohm(), "Ω", 3),
        fixture_key(fixture),
    )
}

/// The usual cautions before a part meets a port, for the shell and the window alike.
pub const CAUTION: &str = "Before you connect: discharge the part, keep mains, bias and \
     transmitters away from the ports, and read the analyzer's limits. Local rules and \
     licensed practice come first.";
