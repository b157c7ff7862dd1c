//! `asleft`. All of it is in the library beside this file, so that fuzzing reaches its rooms too.

fn main() -> std::process::ExitCode {
    cli::run()
}
