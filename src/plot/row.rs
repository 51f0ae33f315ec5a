//! A row of a picture in which nothing may overlap.

use super::picture::WIDTH;

/// What is taken of the row, pixel by pixel.
pub(super) struct Row(Vec<bool>);

impl Row {
    pub fn new() -> Row {
        Row(vec![false; WIDTH as usize])
    }

    /// Whether an extent lies within the picture and on nothing taken; if so, it is taken now.
    pub fn take(&mut self, [from, to]: [f64; 2]) -> bool {
        if from < 0.0 || to > self.0.len() as f64 || from > to {
            return false;
        }
        let extent = &mut self.0[from.floor() as usize..to.ceil() as usize];
        let free = !extent.contains(&true);
        if free {
            extent.fill(true);
        }
        free
    }
}
