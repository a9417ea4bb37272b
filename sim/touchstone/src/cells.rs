use num_complex::Complex64;

use crate::Format;
use crate::header::Layout;
use crate::problem::Problem;

/// Cells in the order of the file become a whole matrix, row by row.
pub(crate) fn spread(
    layout: Layout,
    ports: usize,
    cells: &mut Vec<Complex64>,
    work: &mut Vec<Complex64>,
) {
    match layout {
        Layout::Rows => {}
        Layout::DownFirst => cells.swap(1, 2),
        half @ (Layout::Lower | Layout::Upper) => {
            work.clear();
            work.extend_from_slice(cells);
            cells.clear();
            cells.resize(ports * ports, Complex64::ZERO);
            let mut written = work.iter();
            for row in 0..ports {
                let columns = match half {
                    Layout::Lower => 0..row + 1,
                    _ => row..ports,
                };
                for (column, value) in columns.zip(&mut written) {
                    cells[row * ports + column] = *value;
                    cells[column * ports + row] = *value;
                }
            }
        }
    }
}

/// Two numbers of the file as one complex number.
#[inline]
pub(crate) fn complex(format: Format, first: f64, second: f64) -> Result<Complex64, Problem> {
    let value = match format {
        Format::Real => return Ok(Complex64::new(first, second)),
        Format::Magnitude if first < 0.0 => {
            return Err(Problem::NegativeMagnitude { found: first });
        }
        Format::Magnitude => Complex64::from_polar(first, second.to_radians()),
        Format::Decibel => Complex64::from_polar(10f64.powf(first / 20.0), second.to_radians()),
    };
    if value.re.is_finite() && value.im.is_finite() {
        Ok(value)
    } else {
        Err(beyond(first))
    }
}

/// A value that no reading has.
pub(crate) fn beyond(found: f64) -> Problem {
    Problem::Number {
        found: found.to_string(),
        advice: "it is beyond any reading: check that the format (DB, MA, RI) is right",
    }
}
