//! Scenarios drawn at random, every table of the file among them.

use jigwise_bench::{
    Band, CalibrationPlan, Complex64, Device, Direction, FixtureStrays, ImpedanceTable, Instrument,
    LEFT_SHARE, Line, LineEnd, METHODS, NamedInstrument, Nudge, Part, ReferenceImpedance, Scenario,
    Skipped, Spacing, Standard, Strays, SweepPlan, Termination,
};
use jigwise_physics::{
    Capacitor, Choke, Crystal, Inductor, OffsetLine, ParallelRlc, Resistor, SeriesRlc, SkinLoss,
    StandardsResiduals, Stub, Systematic, Trio, VendorFigures,
};
use proptest::prelude::*;

use crate::parts::{impedance_ohm, log_uniform, reference};
use crate::strays::line_of;

fn device() -> impl Strategy<Value = Device> {
    prop_oneof![
        3 => part().prop_map(Device::Part),
        1 => table(),
        4 => impedance_ohm().prop_map(Device::Fixed),
        1 => log_uniform((1e-6, 1e9)).prop_map(Device::resistor),
        1 => log_uniform((1e-15, 1e3)).prop_map(Device::inductor),
        1 => log_uniform((1e-18, 1.0)).prop_map(Device::capacitor),
        1 => Just(Device::Open),
        1 => Just(Device::Short),
    ]
}

fn ratio() -> impl Strategy<Value = f64> {
    prop_oneof![1 => Just(0.0), 1 => Just(1.0), 6 => log_uniform((1e-9, 1.0))]
}

fn angle_rad() -> impl Strategy<Value = f64> {
    prop_oneof![1 => Just(0.0), 4 => log_uniform((1e-9, std::f64::consts::FRAC_PI_4))]
        .prop_map(|angle| angle.min(std::f64::consts::FRAC_PI_4))
}

fn ohm() -> impl Strategy<Value = f64> {
    prop_oneof![1 => Just(0.0), 2 => log_uniform((1e-6, 999.0))]
}

fn systematic() -> impl Strategy<Value = Systematic> {
    prop::array::uniform6(ratio()).prop_flat_map(
        |[a, b, c, through_tracking, crosstalk, load_match]| {
            prop_oneof![
                Just(Systematic::Standards(StandardsResiduals {
                    load: a,
                    open: b,
                    short: c,
                    through_tracking,
                    crosstalk,
                    load_match,
                })),
                Just(Systematic::Vendor(VendorFigures {
                    directivity: a,
                    reflect_tracking: b,
                    source_match: c,
                    through_tracking,
                    crosstalk,
                    load_match,
                })),
            ]
        },
    )
}

fn figures() -> impl Strategy<Value = Instrument> {
    let floors = prop::array::uniform2(log_uniform((1e-14, 0.9)));
    let bandwidths = prop::array::uniform2(log_uniform((2e-3, 9e8)));
    let averages = prop_oneof![Just(1), 1..=u32::MAX];
    (
        (systematic(), any::<bool>(), floors, bandwidths, averages),
        prop::array::uniform5(ratio()),
        prop::array::uniform3(angle_rad()),
        prop::array::uniform2(ohm()),
    )
        .prop_map(
            |(
                (systematic, systematic_is_bound, floors, bandwidths, averages),
                ratios,
                angles,
                ohms,
            )| {
                Instrument {
                    systematic,
                    systematic_is_bound,
                    reflect_floor: floors[0],
                    through_floor: floors[1],
                    floor_ifbw_hz: bandwidths[0],
                    ifbw_hz: bandwidths[1],
                    averages,
                    trace_magnitude: ratios[0],
                    trace_phase_rad: angles[0],
                    display_magnitude: ratios[1],
                    display_phase_rad: angles[1],
                    reconnect: ratios[2],
                    cable_phase_rad: angles[2],
                    drift: ratios[3],
                    raw_match: ratios[4],
                    contact_ohm: ohms[0],
                    ground_loop_ohm: ohms[1],
                }
            },
        )
}

/// A line as a person may write it, quotes, backslashes and other scripts too.
fn line() -> impl Strategy<Value = String> {
    prop_oneof![
        "[ -~]{0,40}",
        "[\"'\\\\#=\\[\\] a-z]{0,20}",
        "\\PC{0,20}",
        Just("Ring core, 2.2 µH − “club”".to_owned()),
        Just("two\nlines\tand a tab".to_owned()),
        Just("handheld".to_owned()),
        Just("Club-Bench".to_owned()),
    ]
}

fn instrument() -> impl Strategy<Value = Option<NamedInstrument>> {
    let preset = prop::sample::select(Instrument::PRESETS.to_vec());
    prop_oneof![
        1 => Just(None),
        2 => preset.clone().prop_map(|(name, _)| NamedInstrument::preset(name)),
        1 => (line(), preset).prop_map(|(name, (_, figures))| {
            Some(NamedInstrument::at_any_frequency(name, figures))
        }),
        4 => (line(), bands()).prop_map(|(name, bands)| Some(of_bands(name, bands))),
    ]
}

/// Up to three bands of rising edges, the last one with an end or without. One band has none.
fn bands() -> impl Strategy<Value = Vec<Band>> {
    (
        prop::collection::vec((1e4..1e9, figures()), 1..4),
        any::<bool>(),
    )
        .prop_map(|(mut bands, is_open)| {
            let kind = bands[0].1;
            let mut edge_hz = 0.0;
            let last = bands.len() - 1;
            bands
                .iter_mut()
                .enumerate()
                .map(|(at, (width_hz, figures))| {
                    edge_hz += *width_hz;
                    let is_end = at == last && (is_open || last == 0);
                    // One table describes all bands in the same terms.
                    if std::mem::discriminant(&figures.systematic)
                        != std::mem::discriminant(&kind.systematic)
                    {
                        figures.systematic = kind.systematic;
                    }
                    figures.systematic_is_bound = kind.systematic_is_bound;
                    Band {
                        up_to_hz: if is_end { f64::INFINITY } else { edge_hz },
                        figures: *figures,
                    }
                })
                .collect()
        })
}

fn of_bands(name: String, bands: Vec<Band>) -> NamedInstrument {
    NamedInstrument {
        up_to_hz: bands[0].up_to_hz,
        higher: bands[1..].to_vec(),
        ..NamedInstrument::at_any_frequency(name, bands[0].figures)
    }
}

fn nudge() -> impl Strategy<Value = Nudge> {
    let direction = prop::sample::select(vec![
        Direction::Magnitude,
        Direction::Resistance,
        Direction::Reactance,
    ]);
    prop_oneof![
        1 => Just(Nudge::default()),
        5 => (log_uniform((2e-9, 9e5)), any::<bool>(), direction, any::<bool>()).prop_map(
            |(size, down, direction, swapped)| {
                let amount = match (down, direction) {
                    (false, _) => size,
                    (true, Direction::Magnitude) => -size.min(0.999),
                    (true, _) => -size,
                };
                Nudge::new(amount, direction, swapped).expect("drawn within its range")
            }
        ),
    ]
}

/// A scenario with anything in it that a file can hold.
pub fn scenario() -> impl Strategy<Value = Scenario> {
    let connections = prop_oneof![Just(0), 1..=u32::MAX];
    let seed = prop_oneof![0..100u64, any::<u64>()];
    (
        (
            prop::option::of(line()),
            device(),
            prop::option::of(log_uniform((1e-3, 1e12))),
            prop::option::of(sweep()),
            fixtures(),
        ),
        (reference(), instrument(), connections, nudge(), seed),
        prop::option::of(calibration()),
    )
        .prop_map(
            |(
                (title, device, freq_hz, sweep, fixtures),
                (reference, instrument, connections, nudge, seed),
                calibration,
            )| {
                let highest_hz = sweep.map(|sweep| sweep.to_hz).into_iter().chain(freq_hz);
                Scenario {
                    title,
                    device,
                    freq_hz,
                    sweep,
                    fixtures: highest_hz.reduce(f64::max).map_or(fixtures, |highest_hz| {
                        FixtureStrays {
                            strays: within_the_wavelength(fixtures.strays, highest_hz),
                            ..fixtures
                        }
                    }),
                    reference,
                    instrument,
                    calibration: calibration.map(|calibration| calibration.on(reference)),
                    connections,
                    nudge,
                    seed,
                }
            },
        )
}

/// Arms of no more than a wavelength and strays that are small beside one, as a file with a
/// frequency may have them.
fn within_the_wavelength(strays: Strays, freq_hz: f64) -> Strays {
    let omega = std::f64::consts::TAU * freq_hz;
    let arm = |line: Line| Line {
        length_m: line
            .length_m
            .min(0.999 * line.velocity_factor * 299_792_458.0 / freq_hz),
        ..line
    };
    Strays {
        gap_f: strays.gap_f.min(0.499 / omega),
        ground_h: strays.ground_h.min(999.0 / omega),
        pin_f: strays.pin_f.min(0.499 / omega),
        before: arm(strays.before),
        after: arm(strays.after),
        ..strays
    }
}

fn or_zero(range: (f64, f64)) -> impl Strategy<Value = f64> {
    prop_oneof![1 => Just(0.0), 2 => log_uniform(range)]
}

fn part() -> impl Strategy<Value = Part> {
    let (ohm, farad, henry, hertz) = ((1e-3, 1e6), (1e-15, 1e-3), (1e-12, 1.0), (1.0, 1e10));
    let main = (
        log_uniform(ohm),
        log_uniform(henry),
        log_uniform(farad),
        log_uniform(hertz),
    );
    let rest = (
        or_zero(ohm),
        or_zero(henry),
        or_zero(farad),
        prop::option::of(log_uniform(ohm)),
        any::<bool>(),
    );
    (0..8u8, main, rest).prop_map(
        |(kind, (r, l, c, f), (small_r, small_l, small_c, other_r, flag))| match kind {
            0 => Part::Resistor(Resistor {
                resistance_ohm: r,
                parallel_capacitance_f: small_c,
                series_inductance_h: small_l,
            }),
            1 => Part::Capacitor(Capacitor {
                capacitance_f: c,
                esr_ohm: small_r,
                esl_h: small_l,
                leakage_ohm: other_r,
            }),
            2 => Part::Inductor(Inductor {
                inductance_h: l,
                series_resistance_ohm: small_r,
                parallel_capacitance_f: small_c,
                skin: other_r.map(|resistance_ohm| SkinLoss {
                    resistance_ohm,
                    at_hz: f,
                }),
            }),
            3 => Part::SeriesRlc(SeriesRlc {
                resistance_ohm: r,
                inductance_h: l,
                capacitance_f: c,
            }),
            4 => Part::ParallelRlc(ParallelRlc {
                resistance_ohm: r,
                inductance_h: l,
                capacitance_f: c,
            }),
            5 => Part::Crystal(Crystal {
                series_resonance_hz: f,
                motional_capacitance_f: c,
                motional_resistance_ohm: r,
                parallel_capacitance_f: 250.0 * c,
            }),
            6 => Part::Choke(Choke {
                inductance_h: l,
                relaxation_hz: f,
                winding_capacitance_f: small_c,
                series_resistance_ohm: small_r,
            }),
            _ => Part::Stub(Stub {
                zc_ohm: r,
                delay_s: l,
                loss_np: small_c,
                loss_at_hz: f,
                end: if flag { LineEnd::Open } else { LineEnd::Short },
            }),
        },
    )
}

fn table() -> impl Strategy<Value = Device> {
    prop::collection::vec((log_uniform((1.0, 1e9)), impedance_ohm()), 1..6).prop_map(|points| {
        let mut freq_hz = 0.0;
        let (freqs, z_ohm): (Vec<f64>, Vec<Complex64>) = points
            .into_iter()
            .map(|(step_hz, z)| {
                freq_hz += step_hz;
                (freq_hz, z)
            })
            .unzip();
        Device::Table(ImpedanceTable::new(freqs, z_ohm).expect("rising and finite"))
    })
}

fn sweep() -> impl Strategy<Value = SweepPlan> {
    (
        log_uniform((1.0, 1e9)),
        log_uniform((1e-3, 1e3)),
        2..500usize,
        any::<bool>(),
    )
        .prop_map(|(from_hz, wider, points, even)| SweepPlan {
            from_hz,
            to_hz: from_hz * (1.0 + wider),
            points,
            spacing: if even {
                Spacing::Even
            } else {
                Spacing::Logarithmic
            },
        })
}

fn arm() -> impl Strategy<Value = Line> {
    line_of((
        or_zero((1e-4, 100.0)),
        0.01..=1.0f64,
        log_uniform((1.0, 1e3)),
        or_zero((1e-3, 1.0)),
        or_zero((1e-3, 1.0)),
    ))
}

fn fixtures() -> impl Strategy<Value = FixtureStrays> {
    let sizes = (
        or_zero((1e-16, 1e-7)),
        or_zero((1e-12, 1e-4)),
        or_zero((1e-16, 1e-7)),
        or_zero((1e-4, 999.0)),
        or_zero((1e-4, 999.0)),
        or_zero((1e-9, 9.0)),
    );
    let arms = (arm(), arm(), any::<bool>());
    prop_oneof![
        1 => Just(FixtureStrays::NONE),
        2 => (sizes, arms, any::<bool>(), 0.0..1.0).prop_map(
            |(sizes, arms, removed, left)| {
                let (gap_f, ground_h, pin_f, contact_ohm, braid_ohm, braid_loop_h) = sizes;
                let (before, other, alike) = arms;
                FixtureStrays {
                    strays: Strays {
                        gap_f,
                        ground_h,
                        pin_f,
                        contact_ohm,
                        braid_ohm,
                        braid_loop_h,
                        before,
                        after: if alike { before } else { other },
                    },
                    removed,
                    left_share: if removed { left } else { LEFT_SHARE },
                }
            }
        ),
    ]
}

/// A calibration that still lacks the reference its ideal load has.
#[derive(Debug, Clone)]
struct Drawn(CalibrationPlan, bool);

impl Drawn {
    fn on(self, reference: ReferenceImpedance) -> CalibrationPlan {
        let Self(mut plan, own_load) = self;
        if !own_load {
            plan.standards.reflections.load = CalibrationPlan::new(plan.method, reference)
                .standards
                .reflections
                .load;
        }
        plan
    }
}

fn calibration() -> impl Strategy<Value = Drawn> {
    let offset = || {
        (or_zero((1e-13, 1e-9)), or_zero((1e6, 1e10))).prop_map(|(delay_s, loss_ohm_per_s)| {
            OffsetLine {
                delay_s,
                zc_ohm: 50.0,
                loss_ohm_per_s,
            }
        })
    };
    let terms = || prop::array::uniform4(or_zero((1e-45, 1e-12)));
    let instead = || {
        prop::option::of(prop_oneof![
            Just(Device::Open),
            Just(Device::Short),
            impedance_ohm().prop_map(Device::Fixed),
            log_uniform((1e-15, 1e-6)).prop_map(Device::capacitor),
        ])
    };
    let flags = || prop::array::uniform3(any::<bool>());
    (
        (prop::sample::select(METHODS.to_vec()), any::<Option<u64>>()),
        (
            terms(),
            terms(),
            prop::array::uniform3(log_uniform((1e-12, 1e3))),
        ),
        (offset(), offset(), offset(), offset()),
        (flags(), flags(), flags(), any::<bool>()),
        (instead(), instead(), instead()),
    )
        .prop_map(
            |(
                ((_, method), front_end),
                (capacitance, inductance, [resistance_ohm, inductance_h, capacitance_f]),
                (open_line, short_line, load_line, through_line),
                (ideal, left_out, [through, isolation, flush], own_load),
                (open, short, load),
            )| {
                let trio = |[open, short, load]: [bool; 3]| Trio { open, short, load };
                let mut plan = CalibrationPlan::new(method, ReferenceImpedance::FIFTY_OHM);
                plan.front_end = front_end;
                plan.standards.reflections = Trio {
                    open: Standard::open(capacitance).behind(open_line),
                    short: Standard::short(inductance).behind(short_line),
                    load: Standard {
                        termination: Termination::Load {
                            resistance_ohm,
                            inductance_h,
                            capacitance_f,
                        },
                        offset: load_line,
                    },
                };
                plan.standards.through.line = through_line;
                plan.taken_for_ideal = trio(ideal);
                plan.through_taken_for_flush = flush;
                plan.instead = Trio { open, short, load };
                plan.skipped = Skipped {
                    reflections: trio(left_out),
                    through,
                    isolation,
                };
                Drawn(plan, own_load)
            },
        )
}
