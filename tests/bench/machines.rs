//! The machines of a folder of sheets, read as the program reads them.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::civil::Date;
use tickover::settings::{DateOrder, Limits};
use tickover::sheets::{self, Reader, Table};
use tickover::units::DistanceUnit;
use tickover::yard::{self, Machine, Records};

/// The machines that a folder's sheets tell of, with the invented makers' handbook.
pub(crate) fn of(folder: &Path, today: Date) -> Vec<Arc<Machine>> {
    let mut records = Records::default();
    for table in files(folder).iter().flat_map(|path| tables(path)) {
        let read_as = yard::recognise(&table, None, DateOrder::DayFirst);
        records.records.extend(yard::records(&table, &read_as, today).0.records);
    }
    let handbook = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/shop/handbook");
    let pages = yard::SHIPPED_HANDBOOK.map(|(file, _)| tables(&handbook.join(file)));
    let handbook = yard::read_handbook(&pages[0], &pages[1], &pages[2]).0;
    let (machines, _) = yard::join(records, Records::default(), &handbook, DistanceUnit::Miles);
    machines.into_iter().map(Arc::new).collect()
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).expect("the folder of sheets is there");
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.expect("it can be read").path()).collect();
    paths.sort();
    paths
}

fn tables(path: &Path) -> Vec<Table> {
    let name = path.file_name().expect("a file has a name").to_string_lossy();
    let reader = Reader::InChild(env!("CARGO_BIN_EXE_tickover").into());
    let read = sheets::read(path, &name, &Limits::default(), &reader);
    assert!(!read.tables.is_empty(), "{} has a sheet", path.display());
    read.tables
}
