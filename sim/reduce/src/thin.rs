//! A long sweep thinned to the rows of a table, or to the points of a fit.

/// At most `rows` of `len` places, spread evenly, the first and the last among them.
///
/// ```
/// use jigwise_reduce::evenly;
///
/// assert_eq!(evenly(9, 3).collect::<Vec<_>>(), [0, 4, 8]);
/// assert_eq!(evenly(2, 3).collect::<Vec<_>>(), [0, 1]);
/// ```
pub fn evenly(len: usize, rows: usize) -> impl ExactSizeIterator<Item = usize> {
    let shown = len.min(rows);
    (0..shown).map(move |row| {
        if shown == len || rows < 2 {
            row
        } else {
            row * (len - 1) / (rows - 1)
        }
    })
}

/// Most points that a fit is made from; more say nothing new and cost time.
const MAX_FITTED: usize = 2_001;

/// The points of a sweep that a fit is made from.
pub(crate) fn fitted(len: usize) -> impl Iterator<Item = usize> {
    (0..len).step_by(len.div_ceil(MAX_FITTED).max(1))
}
