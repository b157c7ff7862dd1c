//! What the program says and does; one binary, so that it is linked once.

#[path = "accounted.rs"]
mod accounted;
#[path = "advice.rs"]
mod advice;
#[path = "affected_counts.rs"]
mod affected_counts;
#[path = "agreement_of_forms.rs"]
mod agreement_of_forms;
#[path = "attesting.rs"]
mod attesting;
#[path = "bad_logs.rs"]
mod bad_logs;
#[path = "behaving.rs"]
mod behaving;
#[path = "behaving_counters.rs"]
mod behaving_counters;
#[path = "behaving_fleets.rs"]
mod behaving_fleets;
#[path = "beyond_anything.rs"]
mod beyond_anything;
#[path = "broken_profiles.rs"]
mod broken_profiles;
#[path = "capturing.rs"]
mod capturing;
#[path = "cases.rs"]
mod cases;
#[path = "conflicts_told.rs"]
mod conflicts_told;
#[path = "crew_page.rs"]
mod crew_page;
#[path = "decoding.rs"]
mod decoding;
#[path = "devices_in_words.rs"]
mod devices_in_words;
#[path = "drawn_sites.rs"]
mod drawn_sites;
#[path = "everyday_logs.rs"]
mod everyday_logs;
#[path = "exercising.rs"]
mod exercising;
#[path = "exported_logs.rs"]
mod exported_logs;
#[path = "facts.rs"]
mod facts;
#[path = "filled_sheets.rs"]
mod filled_sheets;
#[path = "first_minutes.rs"]
mod first_minutes;
#[path = "fleets.rs"]
mod fleets;
#[path = "gating.rs"]
mod gating;
#[path = "hand_written.rs"]
mod hand_written;
#[path = "help.rs"]
mod help;
#[path = "hostile_behaving.rs"]
mod hostile_behaving;
#[path = "killed_writers.rs"]
mod killed_writers;
#[path = "line_spellings.rs"]
mod line_spellings;
#[path = "maps_agree.rs"]
mod maps_agree;
#[path = "measured_logs.rs"]
mod measured_logs;
#[path = "mutants.rs"]
mod mutants;
#[path = "narrow_terminal.rs"]
mod narrow_terminal;
#[path = "network_frequency.rs"]
mod network_frequency;
#[path = "new_files.rs"]
mod new_files;
#[path = "new_overlays.rs"]
mod new_overlays;
#[path = "operating_points.rs"]
mod operating_points;
#[path = "page_requests.rs"]
mod page_requests;
#[path = "parquet_logs.rs"]
mod parquet_logs;
#[path = "plain_words.rs"]
mod plain_words;
#[path = "records.rs"]
mod records;
#[path = "refused.rs"]
mod refused;
#[path = "register_names.rs"]
mod register_names;
#[path = "registering.rs"]
mod registering;
#[path = "remedies.rs"]
mod remedies;
#[path = "reports.rs"]
mod reports;
#[path = "rooms.rs"]
mod rooms;
#[path = "rule_pages.rs"]
mod rule_pages;
#[path = "sarif.rs"]
mod sarif;
#[path = "spellings.rs"]
mod spellings;
#[path = "spoofing.rs"]
mod spoofing;
#[path = "trips_agree.rs"]
mod trips_agree;
#[path = "unverified_figures.rs"]
mod unverified_figures;
#[path = "whole_files.rs"]
mod whole_files;

// what several of them use
#[path = "page/asked.rs"]
mod asked;
mod drawn;
#[path = "../benches/fleet/made.rs"]
mod made;
mod program;
mod ran;
mod refusal;
#[path = "page/served.rs"]
mod served;
mod shipped;
