//! A shop of other people's habits sets up: what is sure is written, what is open is asked at a terminal and else left
//! behind a `#`, and every answer is a line of the settings. What each sheet means was worked out by hand.

use std::io::Write as _;
use std::process::{Command, Stdio};

use crate::broken_exports::workbook;
use crate::program::{Yard, printed, python, said};
use crate::sheets_made::xlsx;

/// Month first, as a spreadsheet program set to another country writes; two columns may be the handover.
const SALES: &str = "Reg,Frame no,Make,Model,Registered,Handover,Collection date,Customer\n\
    AB26 CDE,XHRWFL40026000101,Harrow,Fell 400,02/03/26,02/06/26,02/07/26,J Ashgrove\n\
    AC26 KLM,XHRWMR65026000102,Harrow,Moor 650,02/05/26,02/10/26,02/12/26,P Dunmore\n";
/// Four short rides, or four readings of two new machines: nobody can tell.
const LOG: &str = "Date,Reg,Miles,By\n02/03/26,AB26 CDE,5,KB\n02/04/26,AB26 CDE,12,MN\n02/05/26,AC26 KLM,6,KB\n\
    02/06/26,AC26 KLM,11,MN\n";
const CLOCKS: &str = "Date,Reg,Odo\n2026-02-20,AB26 CDE,120\n2026-02-25,AC26 KLM,90\n";

fn yard() -> Yard {
    let yard = Yard::empty();
    yard.put("sheets/log.csv", LOG);
    yard.put("sheets/odo.csv", CLOCKS);
    yard.put("sheets/sales.csv", SALES);
    yard
}

/// A setup at a terminal at which this is typed: what was shown, and the exit code.
pub(crate) fn at_a_terminal(yard: &Yard, typed: &str) -> (String, i32) {
    const TERMINAL: &str = "import os, pty, sys\n\
        pid, terminal = pty.fork()\n\
        if pid == 0:\n    os.execv(sys.argv[1], sys.argv[1:])\n\
        os.write(terminal, sys.stdin.buffer.read())\n\
        while True:\n    try:\n        shown = os.read(terminal, 4096)\n    except OSError:\n        break\n    \
        if not shown:\n        break\n    sys.stdout.buffer.write(shown)\n\
        sys.exit(os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]))\n";
    let mut child = Command::new(python())
        .args(["-c", TERMINAL, env!("CARGO_BIN_EXE_tickover"), "setup", "--yard"])
        .arg(yard.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(typed.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    (printed(&output).replace('\r', ""), output.status.code().unwrap())
}

#[test]
fn without_a_terminal_nothing_is_asked_and_what_is_open_is_listed_and_left_behind_a_mark() {
    let yard = yard();
    let output = yard.run("setup", &["--accept"]);
    let (shown, first) = (printed(&output), yard.settings());
    assert_eq!(output.status.code(), Some(1), "{}", said(&output));
    for question in [
        "Open: log.csv: What are the rows of this sheet?\n",
        "Open: sales.csv: Which of these columns is the day it goes to the customer (handover)?\n",
        "Open: sales.csv: Which day is `02/03/26` in this sheet?\n",
        "Open: What do the clocks of your machines count in, where nothing beside a figure says it?\n",
    ] {
        assert!(shown.contains(question), "{question}{shown}");
    }
    assert!(shown.contains("      G Collection date: 02/07/26, 02/12/26\n"), "{shown}");
    for line in [
        "\n# clock_unit = \"miles\"  # or \"km\": not answered yet, and miles until then\n",
        "\n# [[sheet]]\n# file = \"log.csv\"\n# rows = \"reading\"\n# or rows = \"ride\": nothing tells which.",
        "\n[[sheet]]\nfile = \"sales.csv\"\nrows = \"machine\"\n# dates = \"day first\"  # or \"month first\": nothing tells which day 02/03/26 is\n",
        "\n# \"Handover\" = \"handover\"  # or \"nothing\"; likely: ",
        "\n# \"Collection date\" = \"handover\"  # column `Handover` is taken as the handover already\n",
        "\n\"Registered\" = \"registered\"\n",
    ] {
        assert!(first.contains(line), "{line}{first}");
    }
    yard.run("setup", &["--accept"]);
    assert_eq!(yard.settings(), first, "asked for again, nothing is written twice");
    // The letter says the same of each, with what to do.
    let (run, code) = yard.morning("2026-03-02");
    assert_eq!(code, Some(1));
    let complaints = run["complaints"].as_array().unwrap();
    let told = |file: &str, words: &str| {
        complaints
            .iter()
            .filter(|one| one["file"] == file && one["problem"].as_str().unwrap().contains(words))
            .count()
    };
    assert_eq!(told("sheets/log.csv", "nothing tells whether a row of this sheet is a reading or a ride"), 1);
    assert_eq!(told("sheets/sales.csv", "it may be the handover"), 2, "either of the two");
    assert_eq!(told("sheets/sales.csv", "nothing tells which of day and month comes first"), 1);
    assert_eq!(told("sheets/odo.csv", "nobody has said yet what the clocks count in"), 1);
    let letter = printed(&yard.run("morning", &["--today", "2026-03-02", "--dry-run"]));
    let letter = letter.split_whitespace().collect::<Vec<_>>().join(" ");
    let at = |words: &str| {
        letter.find(words).unwrap_or_else(|| panic!("`{words}` is not in the letter: {letter}"))
    };
    let first = at("Look at this first")..at("Put the sheet right");
    for open in [
        "Nothing tells which of day and month comes first in dates such as `02/03/26`",
        "Nobody has said yet what the clocks count in",
    ] {
        assert!(first.contains(&at(open)), "what a due day rests on is at the top: {letter}");
        assert_eq!(letter.matches(open).count(), 1, "and said once: {letter}");
    }
}

#[test]
pub(crate) fn at_a_terminal_each_open_point_is_asked_and_each_answer_is_a_line() {
    let yard = yard();
    // The log: junk, then rides; its month comes first. The sales: neither number, then the first column; the same
    // order as before, by Enter. The clocks: km. Then all is written, by Enter.
    let (shown, code) = at_a_terminal(&yard, "maybe\n2\n2\n9\n1\n\n2\n\n");
    assert_eq!(code, 0, "{shown}");
    let written = yard.settings();
    for line in [
        "\nclock_unit = \"km\"\n",
        "\nfile = \"log.csv\"\nrows = \"ride\"\ndates = \"month first\"\n",
        "\nfile = \"sales.csv\"\nrows = \"machine\"\ndates = \"month first\"\n",
        "\n\"Handover\" = \"handover\"\n\"Collection date\" = \"nothing\"\n",
    ] {
        assert!(written.contains(line), "{line}{written}");
    }
    assert!(
        shown.contains("  2  3 February 2026: the month comes first  (usual: Enter takes it)\n"),
        "{shown}"
    );
    let (run, _) = yard.morning("2026-03-02");
    let read_as: Vec<_> =
        run["sheets"].as_array().unwrap().iter().map(|sheet| sheet["read_as"].as_str().unwrap()).collect();
    assert_eq!(read_as, ["ride", "reading", "machine"]);
    // What was agreed is not asked again.
    let (shown, code) = at_a_terminal(&yard, "");
    assert!(shown.contains("Nothing new; ") && !shown.contains("Answer, "), "{shown}");
    assert_eq!((code, yard.settings()), (0, written));
}

#[test]
fn what_was_left_for_later_is_asked_of_a_sheet_that_is_agreed_already() {
    let yard = yard();
    yard.run("setup", &["--accept"]);
    let before = yard.settings().replace("name = \"\"", "name = \"Tarn Road\" # ours");
    yard.put("tickover.toml", &before);
    // The end of the input leaves the rest for later, but for the last word.
    let (shown, code) = at_a_terminal(&yard, "1\n\u{4}0\n0\n2\n1\n1\n");
    assert_eq!(code, 1, "{shown}");
    let after = yard.settings();
    assert!(
        after.contains("\nfile = \"log.csv\"\nrows = \"reading\"\n# dates = \"day first\"  # or"),
        "{after}"
    );
    assert!(!after.contains("# file = \"log.csv\""), "{after}");
    assert!(
        after.contains("\nfile = \"sales.csv\"\nrows = \"machine\"\ndates = \"month first\"\n"),
        "{after}"
    );
    assert!(after.contains("\nclock_unit = \"miles\"\n"), "{after}");
    assert!(after.contains("# \"Handover\" = \"handover\""), "what was put off is still open: {after}");
}

#[test]
fn a_sheet_that_is_none_of_ours_is_asked_about_once_and_left_alone_from_then_on() {
    let yard = Yard::empty();
    yard.put("sheets/bays.csv", "Reg,Bay\nAB26 CDE,3\nAC26 KLM,4\n");
    let (shown, code) = at_a_terminal(&yard, "7\n\n");
    assert!(
        shown.contains("bays.csv: What are the rows of this sheet?\n      A Reg: AB26 CDE, AC26 KLM\n"),
        "{shown}"
    );
    assert_eq!(code, 0, "{shown}");
    assert!(
        yard.settings().contains("\n[[sheet]]\nfile = \"bays.csv\"\nrows = \"nothing\"\n"),
        "{}",
        yard.settings()
    );
    let (run, _) = yard.morning("2026-03-02");
    assert_eq!(run["complaints"].as_array().unwrap().len(), 0, "{}", run["complaints"]);
}

#[test]
fn a_handover_that_cannot_be_read_is_said_at_the_top_of_the_letter() {
    let yard = Yard::empty();
    yard.put(
        "sheets/sales.csv",
        "Reg,Make,Model,Handover\nAB26 CDE,Harrow,Fell 400,13/03/2026\nAC26 KLM,Harrow,Moor 650,31/11/2026\n",
    );
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    let letter = printed(&yard.run("morning", &["--today", "2026-03-02", "--dry-run"]));
    let at = |words: &str| {
        letter.find(words).unwrap_or_else(|| panic!("`{words}` is not in the letter: {letter}"))
    };
    assert!(at("A day that could not be read hides what is due by it") < at("Could not be told"), "{letter}");
    assert_eq!(letter.matches("sales.csv, D3: `31/11/2026`").count(), 1, "{letter}");
}

#[test]
fn that_no_column_tells_a_handover_is_said_once_by_setup_and_by_the_letter() {
    const SAID: &str = "no column tells when a machine goes to its customer";
    let yard = Yard::empty();
    yard.put("sheets/bikes.csv", "Reg,Model,PDI\nAB76 CDE,Fell 400,\n");
    yard.put("sheets/more.csv", "Reg,Model,PDI\nAC76 KLM,Moor 650,\n");
    let output = yard.run("setup", &["--accept"]);
    let shown = format!("{}{}", printed(&output), said(&output));
    assert_eq!(
        (shown.matches("No column tells when").count(), output.status.code()),
        (1, Some(1)),
        "{shown}"
    );
    let open = "\n# hands_over = true  # or false: not answered yet; no column tells a handover\n";
    assert!(yard.settings().contains(open), "{}", yard.settings());
    let problems = |yard: &Yard| -> Vec<String> {
        let (run, _) = yard.morning("2026-11-30");
        let complaints = run["complaints"].as_array().unwrap();
        complaints.iter().map(|complaint| complaint["problem"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(problems(&yard).iter().filter(|problem| problem.contains(SAID)).count(), 1);
    // One sheet that tells it will do, or one that is asked about.
    for third in
        ["Reg,Handover\nAB76 CDE,13/12/2026\n", "Reg,Model,Ready for\nAB76 CDE,Fell 400,13/12/2026\n"]
    {
        yard.put("sheets/third.csv", third);
        let output = yard.run("setup", &[]);
        let shown = format!("{}{}", printed(&output), said(&output));
        assert!(!shown.contains(SAID), "{shown}");
        let told = problems(&yard);
        assert!(!told.iter().any(|problem| problem.contains(SAID)), "{told:?}");
        let is_open = told.iter().any(|problem| problem.contains("it may be the handover"));
        assert_eq!(is_open, third.contains("Ready for"), "{told:?}");
    }
}

#[test]
fn a_shop_that_only_services_answers_once_that_it_hands_nothing_over() {
    const BIKES: &str = "Reg,Model,Registered,MOT due\nAB26 CDE,Fell 400,13/03/2020,13/03/2027\n";
    let yard = Yard::empty();
    yard.put("sheets/bikes.csv", BIKES);
    let (shown, code) = at_a_terminal(&yard, "2\n\n");
    assert!(shown.contains("Does the shop hand machines over to their owners?"), "{shown}");
    assert!(shown.contains("      bikes.csv: Reg, Model, Registered, MOT due\n"), "{shown}");
    assert_eq!(code, 0, "{shown}");
    assert!(yard.settings().contains("\nhands_over = false\n"), "{}", yard.settings());
    let letter = |yard: &Yard| printed(&yard.run("morning", &["--today", "2026-03-02", "--dry-run"]));
    assert!(!letter(&yard).contains("o column tells"), "{}", letter(&yard));
    assert!(!at_a_terminal(&yard, "").0.contains("Answer, "), "it is not asked again");
    // Until it is answered, the letter says the line that settles it.
    let other = Yard::empty();
    other.put("sheets/bikes.csv", BIKES);
    other.run("setup", &["--accept"]);
    assert!(letter(&other).replace('\n', " ").contains("write `hands_over = false`"), "{}", letter(&other));
}

#[test]
fn a_shop_that_writes_no_handover_down_is_told_of_its_customers_services() {
    let yard = Yard::empty();
    yard.put(
        "sheets/bikes.csv",
        "Reg,Customer,Tel,Model,Last serviced,Last service\n\
         AB20 CDF,K Poole,01632 960112,Moor 650,23/02/2025,annual service\n\
         AB21 CDG,T Ash,01632 960113,Moor 650,13/10/2025,annual service\n",
    );
    yard.run("setup", &["--accept"]);
    let letter = printed(&yard.run("morning", &["--today", "2026-03-02", "--dry-run"]));
    let letter = letter.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        letter.contains("Ring K Poole on 01632 960112 The annual service was due on 23 Feb 2026"),
        "{letter}"
    );
    assert_eq!(letter.matches("The annual service").count(), 1, "{letter}");
}

/// Five sheets of one workbook, of which one has a day past the twelfth of its month.
#[test]
fn one_date_of_a_workbook_settles_all_its_sheets_and_is_named() {
    let row = |cells: &[&str]| {
        let cells: String =
            cells.iter().map(|cell| format!("<c t=\"inlineStr\"><is><t>{cell}</t></is></c>")).collect();
        format!("<row>{cells}</row>")
    };
    let sheets: Vec<(&str, String)> = [
        ("Stock", [["Reg", "Model", "Handover"], ["AB26 CDE", "Fell 400", "03/02/2026"]]),
        ("Clocks", [["Reg", "Date", "Mileage"], ["AB26 CDE", "05/02/2026", "120"]]),
        ("Jobs", [["Reg", "Date", "Work done"], ["AB26 CDE", "13/01/2026", "Oil"]]),
        ("Fuel", [["Reg", "Date", "Grade"], ["AB26 CDE", "06/02/2026", "E10"]]),
        ("Rides", [["Rider", "Reg", "Date"], ["Ann", "AB26 CDE", "02/02/2026"]]),
    ]
    .into_iter()
    .map(|(name, rows)| (name, rows.iter().map(|cells| row(cells)).collect()))
    .collect();
    let sheets: Vec<_> = sheets.iter().map(|(name, data)| (*name, "visible", data.as_str())).collect();
    let yard = Yard::empty();
    yard.put("sheets/shop.xlsx", xlsx(&sheets));
    let shown = printed(&yard.run("setup", &["--accept"]));
    assert!(!shown.contains("Which day is"), "{shown}");
    assert!(shown.contains("handover, day first (as in Jobs, cell B2: 13/01/2026)"), "{shown}");
    let agreed = "sheet = \"Stock\"\nrows = \"machine\"\ndates = \"day first\"\n";
    assert!(yard.settings().contains(agreed), "{}", yard.settings());
    let letter = printed(&yard.run("morning", &["--today", "2026-03-02", "--dry-run"]));
    assert!(!letter.contains("which of day and month"), "{letter}");
}

#[test]
fn a_date_of_another_file_is_named_beside_the_answer_and_decides_nothing() {
    let yard = Yard::empty();
    yard.put("sheets/jobs.csv", "Reg,Date,Work done\nAB26 CDE,01/13/2026,Oil\nAB26 CDE,01/14/2026,Chain\n");
    yard.put("sheets/stock.csv", "Reg,Model,Handover\nAB26 CDE,Fell 400,02/03/2026\n");
    let (shown, _) = at_a_terminal(&yard, "2\n\n");
    assert!(
        shown.contains("  2  3 February 2026: the month comes first, as in jobs.csv, cell B2: 01/13/2026\n"),
        "{shown}"
    );
    assert!(!shown.contains("Enter takes it)\nAnswer"), "{shown}");
    assert!(yard.settings().contains("file = \"stock.csv\"\nrows = \"machine\"\ndates = \"month first\"\n"));
}

const AGREED: &str = "# Ours, as it came from the office.\n[[sheet]]\nfile = \"odo.csv\" # the old till\nrows = \"reading\"\n\
    dates = \"month first\" # as the till writes them\n[sheet.columns]\n\"Date\" = \"day\"\n\"Reg\" = \"mark\" # the plate\n\
    \"Odo\" = \"clock\"\n";

/// A yard whose log of clocks was agreed under another name.
fn yard_with_an_old_name() -> Yard {
    let yard = Yard::empty();
    yard.put("sheets/clocks.csv", "Date,Reg,Odo\n02/03/26,AB26 CDE,120\n02/05/26,AC26 KLM,90\n");
    yard.put("tickover.toml", format!("[shop]\nclock_unit = \"miles\"\n\n{AGREED}"));
    yard
}

#[test]
fn an_agreed_sheet_that_goes_by_another_name_is_asked_about_and_its_lines_stay() {
    let yard = yard_with_an_old_name();
    let before = yard.settings();
    let asked = "clocks.csv: The sheet odo.csv was agreed, and is not there any more. Is this one it, under another name?";
    // Nobody there to answer: nothing is guessed, and the choices are listed.
    let output = yard.run("setup", &["--accept"]);
    let shown = printed(&output);
    assert_eq!((output.status.code(), yard.settings()), (Some(1), before.clone()), "{shown}");
    assert!(shown.contains(&format!("Open: {asked}")), "{shown}");
    assert!(
        shown.contains("  file = \"clocks.csv\"  (yes: what was agreed of that one holds for this one)\n"),
        "{shown}"
    );
    let (shown, code) = at_a_terminal(&yard, "1\n1\n");
    assert!(shown.contains(asked) && code == 0, "{shown}");
    assert_eq!(yard.settings(), before.replace("file = \"odo.csv\"", "file = \"clocks.csv\""));
    let (run, _) = yard.morning("2026-03-02");
    assert_eq!(
        run["complaints"].as_array().unwrap().iter().filter(|one| one["file"] == "tickover.toml").count(),
        0
    );
}

#[test]
fn an_agreed_sheet_that_is_gone_is_said_with_what_to_take_out() {
    let yard = yard_with_an_old_name();
    // Another sheet it is: that one is agreed by itself, and the old lines are the owner's to take out.
    let (shown, code) = at_a_terminal(&yard, "2\n2\n1\n");
    assert_eq!(code, 1, "{shown}");
    assert!(
        yard.settings().contains(AGREED) && yard.settings().contains("\nfile = \"clocks.csv\"\n"),
        "{}",
        yard.settings()
    );
    let output = yard.run("setup", &[]);
    let shown = said(&output);
    for words in [
        "the sheet odo.csv was agreed, and is not there any more",
        "tickover.toml:5",
        "take out its [[sheet]]: the lines from that heading down to the next one",
    ] {
        assert!(shown.contains(words), "{words}: {shown}");
    }
    assert_eq!(output.status.code(), Some(1));
}

#[test]
fn worksheets_that_are_there_for_the_others_are_left_out_as_usual_and_raise_no_alarm() {
    let machines = "Reg,Model,Registered,Handover,Customer,Tel\nLV76 KAA,Lark,13/01/2027,08/03/2027,Mr A,07700 900601\n\
                    LV76 KAB,Lark,14/01/2027,09/03/2027,Mr B,07700 900602\n";
    let tabs: Vec<(&str, String)> = [
        ("Machines", machines),
        ("Lists", "Colours,Status\nred,sold\nblue,stock\n"),
        ("Dashboard", "Total bikes,3\nSold,1\n"),
        ("Notes", "Remember to order oil\n"),
        ("Instructions", "Fill in one row for each machine\nDo not sort\n"),
        ("Lookups", "Code,Meaning\nA,Annual\n"),
    ]
    .map(|(name, text)| (name, text.to_owned()))
    .to_vec();
    let yard = Yard::empty();
    yard.put("sheets/shop.xlsx", workbook(&tabs));
    let setup = yard.run("setup", &["--accept"]);
    let shown = printed(&setup);
    assert_eq!(setup.status.code(), Some(0), "{shown}");
    assert!(
        shown.contains("Taken as usual: shop.xlsx, Dashboard: What are the rows of this sheet?"),
        "{shown}"
    );
    let (run, code) = yard.kept_morning("2027-02-08");
    assert_eq!(code, Some(0), "{run:#}");
    let read_as: Vec<&str> =
        run["sheets"].as_array().unwrap().iter().map(|sheet| sheet["read_as"].as_str().unwrap()).collect();
    assert_eq!(read_as, ["machine", "nothing", "nothing", "nothing", "nothing", "nothing"]);
    assert_eq!(yard.settings().matches("rows = \"nothing\"").count(), 5);
}

#[test]
fn what_is_only_shown_lays_nothing_out() {
    let folder = tempfile::tempdir().unwrap();
    let (yard, log) = (folder.path().join("shop"), folder.path().join("odo.csv"));
    std::fs::write(&log, CLOCKS).unwrap();
    let run = |more: &[&str]| {
        let mut setup = Command::new(env!("CARGO_BIN_EXE_tickover"));
        setup.arg("setup").arg("--yard").arg(&yard).args(more).arg(&log).stdin(Stdio::null());
        setup.output().unwrap()
    };
    let shown = run(&[]);
    assert_eq!(shown.status.code(), Some(1), "{}", said(&shown));
    assert!(
        printed(&shown).contains("Odo") && printed(&shown).contains("not written yet"),
        "{}",
        printed(&shown)
    );
    assert!(!yard.exists());
    run(&["--accept"]);
    assert!(yard.join("tickover.toml").is_file() && yard.join("rules").is_dir());
}
