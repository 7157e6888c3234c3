//! A file becomes tables of cells with origins; this room knows no word of the trade.

mod table;

pub use table::{Cell, Row, Table};
