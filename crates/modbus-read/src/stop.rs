//! Ending at the keyboard: between two requests, so that what was read is kept.

use std::io;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// A flag that the first interrupt (Ctrl-C) raises; the second one ends the program as it always does.
///
/// # Errors
/// Where the system does not take it.
pub fn stop_at_interrupt() -> io::Result<Arc<AtomicBool>> {
    let flag = Arc::new(AtomicBool::new(false));
    // in this order: the flag is looked at before it is raised
    signal_hook::flag::register_conditional_default(signal_hook::consts::SIGINT, Arc::clone(&flag))?;
    signal_hook::flag::register(signal_hook::consts::SIGINT, Arc::clone(&flag))?;
    Ok(flag)
}
