use num_complex::Complex64;

/// Solves A·X = B for square row-major matrices by elimination with row pivots; X replaces B
/// and A is used up. False where A has no inverse or the answer is beyond any double.
pub(crate) fn solve(size: usize, a: &mut [Complex64], b: &mut [Complex64]) -> bool {
    for step in 0..size {
        let pivot = (step..size)
            .max_by(|&x, &y| {
                largest_part(a[x * size + step]).total_cmp(&largest_part(a[y * size + step]))
            })
            .unwrap_or(step);
        if pivot != step {
            for column in 0..size {
                a.swap(step * size + column, pivot * size + column);
                b.swap(step * size + column, pivot * size + column);
            }
        }
        let divisor = a[step * size + step];
        if divisor == Complex64::ZERO {
            return false;
        }
        for row in step + 1..size {
            let factor = a[row * size + step] / divisor;
            if factor == Complex64::ZERO {
                continue;
            }
            for column in step + 1..size {
                let part = factor * a[step * size + column];
                a[row * size + column] -= part;
            }
            for column in 0..size {
                let part = factor * b[step * size + column];
                b[row * size + column] -= part;
            }
        }
    }
    for step in (0..size).rev() {
        for column in 0..size {
            let mut value = b[step * size + column];
            for known in step + 1..size {
                value -= a[step * size + known] * b[known * size + column];
            }
            b[step * size + column] = value / a[step * size + step];
        }
    }
    b.iter().all(|x| x.re.is_finite() && x.im.is_finite())
}

/// Within √2 of the magnitude, and can't overflow.
fn largest_part(z: Complex64) -> f64 {
    z.re.abs().max(z.im.abs())
}
