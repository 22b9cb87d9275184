use crate::tui::theme::{Role, Theme};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// Everything drawn in dots goes into one canvas, so that layers which share a
/// cell keep all their dots. A cell has 2 x 4 dots and one colour: that of the
/// foremost layer in it.
pub(super) struct Dots {
    columns: u16,
    rows: u16,
    cells: Vec<Cell>,
}

#[derive(Clone, Copy, Default)]
struct Cell {
    /// Dots of each layer, by their order.
    masks: [u8; Layer::COUNT],
}

/// What dots belong to, hindmost first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Layer {
    /// The present, or a band of temperatures.
    Ground,
    /// The 80 % band.
    Band,
    /// Earlier batches.
    Earlier,
    /// A healthy ferment.
    Healthy,
    /// The median, or a temperature.
    Curve,
    /// A temperature outside its band.
    Outside,
    /// Readings and their errors.
    Point,
}

impl Layer {
    const COUNT: usize = 7;
    const ALL: [(Self, char); Self::COUNT] = [
        (Self::Ground, '.'),
        (Self::Band, ':'),
        (Self::Earlier, '\''),
        (Self::Healthy, ','),
        (Self::Curve, '*'),
        (Self::Outside, '^'),
        (Self::Point, '|'),
    ];

    /// Areas make room for a line in the same cell; without that the line would
    /// drown in them where there is no colour.
    const fn is_area(self) -> bool {
        matches!(self, Self::Ground | Self::Band)
    }
}

/// The bit of a dot in a braille character (Unicode 17, block U+2800).
const BITS: [[u8; 2]; 4] = [[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]];

impl Dots {
    /// An empty canvas over so many cells.
    pub(super) fn new(area: Rect) -> Self {
        Self {
            columns: area.width,
            rows: area.height,
            cells: vec![Cell::default(); usize::from(area.width) * usize::from(area.height)],
        }
    }

    /// Dots from left to right.
    pub(super) fn width(&self) -> i32 {
        i32::from(self.columns) * 2
    }

    /// Dots from top to bottom.
    pub(super) fn height(&self) -> i32 {
        i32::from(self.rows) * 4
    }

    /// Sets one dot; outside the canvas nothing happens.
    pub(super) fn set(&mut self, layer: Layer, x: i32, y: i32) {
        if x < 0 || y < 0 || x >= self.width() || y >= self.height() {
            return;
        }
        let (x, y) = (x as usize, y as usize);
        let bit = BITS
            .get(y % 4)
            .and_then(|row| row.get(x % 2))
            .copied()
            .unwrap_or(0);
        if let Some(cell) = self
            .cells
            .get_mut(y / 4 * usize::from(self.columns) + x / 2)
            && let Some(mask) = cell.masks.get_mut(layer as usize)
        {
            *mask |= bit;
        }
    }

    /// Sets the dots of one column between two rows, in either order.
    pub(super) fn upright(&mut self, layer: Layer, x: i32, y0: i32, y1: i32) {
        let (top, bottom) = (y0.min(y1).max(0), y0.max(y1).min(self.height() - 1));
        for y in top..=bottom {
            self.set(layer, x, y);
        }
    }

    /// Draws the cells that hold dots; the others stay as they are.
    pub(super) fn draw(
        &self,
        area: Rect,
        theme: Theme,
        role_of: impl Fn(Layer) -> Role,
        buf: &mut Buffer,
    ) {
        let places = (0..self.rows).flat_map(|y| (0..self.columns).map(move |x| (x, y)));
        for ((x, y), cell) in places.zip(&self.cells) {
            let Some((layer, ascii, mask)) = cell.shown() else {
                continue;
            };
            let symbol = if theme.ascii {
                ascii
            } else {
                char::from_u32(0x2800 + u32::from(mask)).unwrap_or(' ')
            };
            if let Some(target) = buf.cell_mut((area.x + x, area.y + y)) {
                target.reset();
                target
                    .set_char(symbol)
                    .set_style(theme.style(role_of(layer)));
            }
        }
    }
}

impl Cell {
    /// Foremost layer and the dots to show.
    fn shown(self) -> Option<(Layer, char, u8)> {
        let there = |i: usize| self.masks.get(i).copied().unwrap_or(0);
        let (front, &(layer, ascii)) = Layer::ALL
            .iter()
            .enumerate()
            .rev()
            .find(|(i, _)| there(*i) != 0)?;
        let line = !layer.is_area();
        let mask = Layer::ALL
            .iter()
            .enumerate()
            .take(front + 1)
            .filter(|(_, (other, _))| !(line && other.is_area()))
            .fold(0, |mask, (i, _)| mask | there(i));
        Some((layer, ascii, mask))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_that_share_a_cell_keep_all_their_dots() {
        let area = Rect::new(0, 0, 1, 1);
        let mut dots = Dots::new(area);
        dots.set(Layer::Healthy, 0, 0);
        dots.set(Layer::Curve, 1, 3);
        dots.set(Layer::Band, 0, 1);
        let mut buf = Buffer::empty(area);
        dots.draw(area, Theme::default(), |_| Role::Curve, &mut buf);
        // U+2881: dots 1 and 8. The band makes room for the lines.
        assert_eq!(buf.cell((0, 0)).unwrap().symbol(), "\u{2881}");
    }

    #[test]
    fn dots_outside_are_left_out() {
        let mut dots = Dots::new(Rect::new(0, 0, 2, 2));
        for (x, y) in [(-1, 0), (0, -1), (4, 0), (0, 8), (i32::MAX, i32::MIN)] {
            dots.set(Layer::Point, x, y);
        }
        dots.upright(Layer::Point, 9, i32::MIN, i32::MAX);
        assert!(dots.cells.iter().all(|c| c.shown().is_none()));
    }
}
