//! A sheet was agreed wrongly, and tickover.toml is put right: what was misread counts no more, and that is told once.

use crate::changed_sheets::{HEADERS, is_silent, machines, of_sheets, open, says, sheet};
use crate::program::Yard;

/// How many rows a table of the kept history has.
fn kept(yard: &Yard, table: &str) -> usize {
    let place = yard.path().join("all of it");
    let output = yard.run("export", &[place.to_str().unwrap()]);
    assert!(output.status.success());
    let rows = std::fs::read_to_string(place.join(table)).unwrap().lines().count() - 1;
    std::fs::remove_dir_all(place).unwrap();
    rows
}

const LOG: &str = "Reg,Date,Miles,Rider\nAB12 CDE,20/02/2026,620,Sam\nAB13 CDE,25/02/2026,90,Sam\n";

/// A yard that has taken the readings of a log for rides, first of one export and then of the next.
fn misread() -> Yard {
    let yard = Yard::empty();
    yard.put("sheets/log.csv", LOG);
    yard.put("sheets/machines.csv", sheet(&HEADERS[..4], &machines()));
    let columns = "\"Reg\" = \"mark\"\n\"Date\" = \"day\"\n\"Miles\" = \"distance\"\n\"Rider\" = \"by\"\n";
    yard.put(
        "tickover.toml",
        format!("[[sheet]]\nfile = \"log.csv\"\nrows = \"ride\"\n[sheet.columns]\n{columns}"),
    );
    yard.kept_morning("2026-03-02");
    yard.put(
        "sheets/log.csv",
        "Reg,Date,Miles,Rider\nAB12 CDE,27/02/2026,640,Sam\nAB13 CDE,27/02/2026,110,Sam\n",
    );
    yard.kept_morning("2026-03-03");
    assert_eq!(kept(&yard, "rides.csv"), 4);
    yard
}

fn put_right(yard: &Yard, from: &str, to: &str) {
    let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
    assert!(settings.contains(from), "{settings}");
    yard.put("tickover.toml", settings.replace(from, to));
}

#[test]
fn rides_that_were_readings_count_no_more_once_the_settings_say_so_and_that_is_told_once() {
    let yard = misread();
    put_right(&yard, "rows = \"ride\"", "rows = \"reading\"");
    put_right(&yard, "\"Miles\" = \"distance\"", "\"Miles\" = \"clock\"");
    put_right(&yard, "\"Rider\" = \"by\"", "\"Rider\" = \"nothing\"");
    let (run, _) = yard.kept_morning("2026-03-04");
    says(
        &run,
        &["sheets/log.csv: tickover.toml says something else of this sheet now: 4 rides were misread before"],
    );
    assert_eq!((kept(&yard, "rides.csv"), kept(&yard, "readings.csv")), (0, 2));
    // The same morning again says the same, the next one nothing.
    let (run, _) = yard.kept_morning("2026-03-04");
    assert_eq!(of_sheets(&run).len(), 1);
    let (run, _) = yard.kept_morning("2026-03-05");
    is_silent(&run);
}

#[test]
fn what_an_export_overwrote_stays_where_it_was_read_rightly() {
    let yard = misread();
    // More is agreed, and nothing of what was read changes.
    put_right(&yard, "rows = \"ride\"", "rows = \"ride\"\ndates = \"day first\"");
    yard.put("sheets/log.csv", "Reg,Date,Miles,Rider\nAB12 CDE,03/03/2026,650,Sam\n");
    let (run, _) = yard.kept_morning("2026-03-04");
    is_silent(&run);
    assert_eq!(kept(&yard, "rides.csv"), 5);
}

#[test]
fn a_slip_in_the_settings_takes_nothing_back() {
    let yard = misread();
    put_right(&yard, "\"Miles\" = \"distance\"", "\"Miles\" = \"distanse\"");
    let (run, _) = yard.kept_morning("2026-03-04");
    assert!(of_sheets(&run).iter().all(|one| !one.contains("misread")), "{:?}", of_sheets(&run));
    // The four that were read, and the two of today's sheet without the distance that is not read meanwhile.
    assert_eq!(kept(&yard, "rides.csv"), 6);
}

#[test]
fn days_that_were_read_the_wrong_way_round_count_no_more_once_the_order_is_agreed() {
    let yard = Yard::empty();
    let log =
        |days: [&str; 2]| format!("Reg,Date,Mileage\nAB12 CDE,{},620\nAB13 CDE,{},90\n", days[0], days[1]);
    yard.put("sheets/mileages.csv", log(["01/02/2026", "01/05/2026"]));
    yard.put("tickover.toml", "[[sheet]]\nfile = \"mileages.csv\"\nrows = \"reading\"\n");
    yard.kept_morning("2026-03-02");
    put_right(&yard, "rows = \"reading\"", "rows = \"reading\"\ndates = \"month first\"");
    let (run, _) = yard.kept_morning("2026-03-03");
    says(&run, &["2 readings were misread before, and count no more"]);
    assert_eq!(kept(&yard, "readings.csv"), 2);
    assert_eq!(open(&run, "doubtful-reading"), 0);
}

#[test]
fn readings_of_a_column_that_was_the_wrong_one_count_no_more() {
    let yard = Yard::empty();
    yard.put(
        "sheets/log.csv",
        "Reg,Date,Mileage,Odo now\nAB12 CDE,20/02/2026,62,620\nAB13 CDE,25/02/2026,9,90\n",
    );
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    yard.kept_morning("2026-03-02");
    put_right(&yard, "\"Mileage\" = \"clock\"", "\"Mileage\" = \"nothing\"\n\"Odo now\" = \"clock\"");
    let (run, _) = yard.kept_morning("2026-03-03");
    says(&run, &["2 readings were misread before, and count no more"]);
    assert_eq!((kept(&yard, "readings.csv"), open(&run, "doubtful-reading")), (2, 0));
}

#[test]
fn figures_in_the_wrong_unit_count_no_more_once_the_unit_is_agreed() {
    let yard = Yard::empty();
    yard.put("sheets/log.csv", "Reg,Date,Mileage\nAB12 CDE,20/02/2026,620\nAB13 CDE,25/02/2026,90\n");
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    yard.kept_morning("2026-03-02");
    put_right(&yard, "rows = \"reading\"", "rows = \"reading\"\ndistances = \"km\"");
    let (run, _) = yard.kept_morning("2026-03-03");
    says(&run, &["2 readings were misread before, and count no more"]);
    assert_eq!((kept(&yard, "readings.csv"), open(&run, "doubtful-reading")), (2, 0));
}

#[test]
fn a_service_that_was_taken_for_another_one_counts_no_more() {
    let yard = Yard::empty();
    yard.put(
        "sheets/machines.csv",
        "Reg,Customer,Handover,Last service date\nAB12 CDE,Ann,01/12/2025,20/01/2026\nAB13 CDE,Bob,13/12/2025,21/01/2026\n",
    );
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    yard.kept_morning("2026-03-02");
    put_right(
        &yard,
        "\"Last service date\" = \"last service day\"",
        "\"Last service date\" = \"first service day\"",
    );
    let (run, _) = yard.kept_morning("2026-03-03");
    says(&run, &["2 jobs were misread before, and count no more"]);
    assert_eq!(kept(&yard, "jobs.csv"), 2);
}

/// Three machines whose stock numbers were agreed to be their marks.
fn misnamed() -> Yard {
    let yard = Yard::empty();
    for (day, clocks) in [("02", [100, 10, 200]), ("03", [120, 12, 220])] {
        let row = |(number, clock): (usize, i32)| {
            let (stock, mark) = (101 + number, ["AKT", "AKU", "AKV"][number]);
            format!("F{stock},AU75 {mark},Ann,{:02}/12/2025,13/12/2028,{clock},\n", 13 + number)
        };
        let rows: String = clocks.into_iter().enumerate().map(row).collect();
        yard.put("sheets/bikes.csv", format!("Stock,Reg,Customer,Handover,MOT expiry,Mileage,PDI\n{rows}"));
        if day == "02" {
            assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
            put_right(&yard, "\"Stock\" = \"stock number\"", "\"Stock\" = \"mark\"");
            put_right(&yard, "\"Reg\" = \"mark\"", "\"Reg\" = \"nothing\"");
        }
        let (run, _) = yard.kept_morning(&format!("2026-03-{day}"));
        assert_eq!(run["machines"], 3);
    }
    yard
}

/// Everything that a run finds: rule, mark, state, and since when.
fn found(run: &serde_json::Value) -> Vec<String> {
    let text = |value: &serde_json::Value| value.as_str().unwrap_or("-").to_owned();
    let findings = run["findings"].as_array().unwrap().iter();
    let words = |it: &serde_json::Value| {
        [&it["rule"], &it["machine"]["mark"], &it["state"], &it["since"]].map(text).join(" ")
    };
    findings.map(words).collect()
}

#[test]
fn machines_under_a_name_that_was_none_are_the_ones_that_their_rows_name() {
    let yard = misnamed();
    let (before, _) = yard.morning("2026-03-03");
    put_right(&yard, "\"Stock\" = \"mark\"", "\"Stock\" = \"stock number\"");
    put_right(&yard, "\"Reg\" = \"nothing\"", "\"Reg\" = \"mark\"");
    let told = "what was read and found of 3 machines under another name counts for the right one (F101 is AU75 AKT, F102 is \
                AU75 AKU, F103 is AU75 AKV)";
    let mut expected = found(&before);
    for (name, right) in [("F101", "AU75 AKT"), ("F102", "AU75 AKU"), ("F103", "AU75 AKV")] {
        expected.iter_mut().for_each(|line| *line = line.replace(name, right).replace(" new ", " open "));
    }
    assert!(expected.len() >= 6, "{expected:#?}");
    // Neither a ghost stays in the yard, nor is anything told a second time as new; and so from then on.
    for day in ["2026-03-04", "2026-03-05"] {
        let (run, _) = yard.kept_morning(day);
        if day.ends_with('4') {
            says(&run, &["sheets/bikes.csv: tickover.toml says something else of this sheet now: ", told]);
        } else {
            is_silent(&run);
        }
        assert_eq!((found(&run), run["machines"].as_u64()), (expected.clone(), Some(3)), "{day}");
    }
    // What an export has overwritten since is the right machine's, too: 3 of the first, 3 of each day after.
    assert_eq!(kept(&yard, "readings.csv"), 12);
}

#[test]
fn a_name_that_was_nobodys_machine_goes_with_all_that_was_found_of_it() {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", sheet(&HEADERS[..4], &machines()));
    yard.put(
        "sheets/log.csv",
        "Reg,Date,Mileage,Bay\nAB12 CDE,20/02/2026,620,B12\nAB13 CDE,25/02/2026,90,B12\n",
    );
    let agreed = |reg: &str, bay: &str| {
        let columns = format!("\"Reg\" = \"{reg}\"\n\"Bay\" = \"{bay}\"\n\"Date\" = \"day\"\n");
        format!("[[sheet]]\nfile = \"log.csv\"\nrows = \"reading\"\n[sheet.columns]\n{columns}")
    };
    yard.put("tickover.toml", agreed("nothing", "stock number"));
    yard.kept_morning("2026-03-02");
    yard.put("tickover.toml", agreed("mark", "nothing"));
    let (run, _) = yard.kept_morning("2026-03-03");
    says(&run, &["1 machine (B12) and 2 readings were misread before, and count no more"]);
    assert_eq!((kept(&yard, "readings.csv"), open(&run, "gone-from-sheets")), (2, 0));
    let (run, _) = yard.kept_morning("2026-03-04");
    is_silent(&run);
    assert_eq!(open(&run, "gone-from-sheets"), 0);
}
