//! What reading takes, counted at the allocator.

use std::io::{BufReader, Read};

use jigwise_touchstone::{Entry, Records, read_from};

const BUFFER: usize = 1 << 16;

/// A two-port file of any length that never exists as a whole.
struct Generated {
    next: usize,
    points: usize,
    line: Vec<u8>,
    given: usize,
}

impl Generated {
    fn new(points: usize) -> Self {
        Self {
            next: 0,
            points,
            line: b"! made as it is read\n# Hz S RI R 50\n".to_vec(),
            given: 0,
        }
    }
}

impl Read for Generated {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        use std::io::Write;
        if self.given == self.line.len() {
            if self.next == self.points {
                return Ok(0);
            }
            self.line.clear();
            let x = self.next as f64 / self.points as f64;
            writeln!(
                self.line,
                "{} {x:.15} -0.123456789012345 {x:.15} 0.2 {x:.15} 0.2 0.3 0.4",
                self.next + 1
            )?;
            self.next += 1;
            self.given = 0;
        }
        let rest = &self.line[self.given..];
        let length = rest.len().min(buffer.len());
        buffer[..length].copy_from_slice(&rest[..length]);
        self.given += length;
        Ok(length)
    }
}

/// 32 MB record by record within the reader's buffer and a few kilobytes; a tenth of it takes
/// the same.
#[test]
fn streaming_takes_the_same_memory_for_any_length() {
    let peak = |points: usize| {
        let mut seen = 0;
        let counted = allocation_counter::measure(|| {
            let source = BufReader::with_capacity(BUFFER, Generated::new(points));
            let mut records = Records::new(source, "generated.s2p").unwrap();
            while let Some(entry) = records.next_entry().unwrap() {
                assert!(matches!(entry, Entry::Point { s, .. } if s.len() == 4));
                seen += 1;
            }
        });
        assert_eq!(seen, points);
        counted.bytes_max
    };
    let (short, long) = (peak(37_000), peak(370_000));
    assert!(long <= BUFFER as u64 + 8_192, "{long} bytes");
    assert!(long <= short + 64, "{long} bytes for ten times {short}");
}

/// A whole sweep takes at most three times its numbers, plus the buffer.
#[test]
fn reading_takes_at_most_three_times_the_data() {
    for points in [10_000, 16_385, 65_536, 100_000] {
        let mut kept = 0;
        let counted = allocation_counter::measure(|| {
            let source = BufReader::with_capacity(BUFFER, Generated::new(points));
            let sweep = read_from(source, "generated.s2p").unwrap();
            kept = sweep.len() * (8 + 4 * 16);
        });
        let allowed = 3 * kept as u64 + BUFFER as u64 + 8_192;
        assert!(
            counted.bytes_max <= allowed,
            "{points} points: {} bytes for {kept} of data",
            counted.bytes_max
        );
    }
}
