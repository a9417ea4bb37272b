use std::io::{self, Write};

/// Rows of text with columns aligned; the first column to the left, the rest to the right.
pub(super) struct Table {
    rows: Vec<Vec<String>>,
    /// True where every column stands to the left, as words do.
    is_text: bool,
}

impl Table {
    pub(super) fn new<const N: usize>(heading: [&str; N]) -> Self {
        Self {
            rows: vec![heading.map(str::to_owned).to_vec()],
            is_text: false,
        }
    }

    /// A table whose columns are known only now.
    pub(super) fn of(heading: Vec<String>) -> Self {
        Self {
            rows: vec![heading],
            is_text: false,
        }
    }

    /// The same with words in every column.
    pub(super) fn of_text(heading: Vec<String>) -> Self {
        Self {
            is_text: true,
            ..Self::of(heading)
        }
    }

    pub(super) fn push(&mut self, cells: Vec<String>) {
        self.rows.push(cells);
    }

    pub(super) fn row<const N: usize>(&mut self, cells: [String; N]) {
        self.rows.push(cells.to_vec());
    }

    pub(super) fn write(&self, out: &mut dyn Write) -> io::Result<()> {
        let columns = self.rows.iter().map(Vec::len).max().unwrap_or(0);
        let width = |column: usize| {
            self.rows
                .iter()
                .filter_map(|row| row.get(column))
                .map(|cell| cell.chars().count())
                .max()
                .unwrap_or(0)
        };
        let widths: Vec<usize> = (0..columns).map(width).collect();
        for row in &self.rows {
            let mut line = String::new();
            for (column, (cell, width)) in row.iter().zip(&widths).enumerate() {
                let padding = " ".repeat(width - cell.chars().count());
                if column == 0 {
                    line.push_str(cell);
                    line.push_str(&padding);
                } else if self.is_text {
                    line.push_str("   ");
                    line.push_str(cell);
                    line.push_str(&padding);
                } else {
                    line.push_str("   ");
                    line.push_str(&padding);
                    line.push_str(cell);
                }
            }
            writeln!(out, "{}", line.trim_end())?;
        }
        Ok(())
    }
}
