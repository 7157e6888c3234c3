//! The tests that use the house from outside, in one binary.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on stops there")]

mod absent_columns;
mod agreed_anew;
mod asked_of_shops;
mod booked;
mod books;
mod broken_exports;
mod changed_at_once;
mod changed_columns;
mod changed_sheets;
mod changed_values;
mod cleared_checks;
mod copies;
mod corrections;
mod diary;
mod digest;
mod direct_way;
mod exports;
mod failed_checks;
mod filled_marks;
mod fuzz_corpus;
mod golden;
mod habits;
#[cfg(target_os = "linux")]
mod held_values;
mod hostile;
#[cfg(target_os = "linux")]
mod hostile_scripts;
mod hostile_sheets;
mod house;
#[cfg(unix)]
mod keeper;
#[cfg(unix)]
mod kills;
mod known_again;
mod ledger;
mod left_for_good;
mod letters_to_people;
mod lost_rows;
mod lost_zeros;
#[path = "../bench/machines.rs"]
mod machines;
mod mail_accounts;
mod mail_check;
mod mail_faults;
#[cfg(unix)]
mod mail_line;
#[cfg(unix)]
mod mail_morning;
#[cfg(unix)]
mod mail_provider;
#[cfg(unix)]
mod mail_real;
mod mail_server;
#[cfg(unix)]
mod mail_unkept;
mod mornings;
mod moved_cells;
#[path = "../bench/native.rs"]
mod native;
mod near_marks;
mod new_sheets;
mod no_checks;
mod no_work;
mod open_checks;
mod own_lines;
mod owner_slips;
mod pages;
mod plain_values;
mod post;
#[cfg(target_os = "linux")]
mod power_cuts;
mod program;
mod recognition;
mod robust;
mod rule_files;
mod said_not_done;
mod second_letter;
#[cfg(unix)]
mod serviced;
mod settings_lost;
#[cfg(unix)]
mod setup;
mod sheets;
mod sheets_made;
mod shifted;
mod sorted_alone;
mod spelt_otherwise;
mod story;
mod text_forms;
mod times;
mod tried;
mod undated_checks;
mod unnamed_services;
#[cfg(unix)]
mod visits;
#[cfg(unix)]
mod weighed;
mod withdrawn;
mod withdrawn_later;
mod withdrawn_slips;
#[cfg(unix)]
mod world;
#[cfg(unix)]
mod year;
