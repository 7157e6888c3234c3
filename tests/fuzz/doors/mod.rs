//! The doors by which bytes from outside come in, each to be walked through with any bytes at all.

mod cells;
mod quoted;
mod reply;
mod rule;
mod settings;
mod sheets;
mod way;

/// A door's name, which is that of its folder in `corpus/`, and the way through it.
type Door = (&'static str, fn(&[u8]));

/// Every door.
pub(crate) const DOORS: [Door; 11] = [
    ("text", sheets::text),
    ("quoted", quoted::quoted),
    ("sheet", sheets::sheet),
    ("workbook", sheets::workbook),
    ("parts", sheets::parts),
    ("frames", sheets::frames),
    ("cells", cells::cells),
    ("machines", cells::machines),
    ("settings", settings::settings),
    ("rule", rule::rule),
    ("reply", reply::reply),
];

/// Walks through a door by its name.
pub(crate) fn enter(name: &str, bytes: &[u8]) {
    let (_, door) = DOORS.iter().find(|(door, _)| *door == name).expect("a door of this name");
    door(bytes);
}
