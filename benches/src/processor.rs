//! Processor time, which a busy machine spoils less than the time on the clock.

/// Processor time of this process, all threads, s; 0 where the system does not tell.
pub fn processor_s() -> f64 {
    // user and system time in hundredths of a second, fields 14 and 15; a name in brackets is second
    let text = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields = text.rsplit(')').next().unwrap_or_default();
    let number = |k: usize| fields.split_whitespace().nth(k).and_then(|v| v.parse::<f64>().ok());
    0.01 * (number(11).unwrap_or(0.0) + number(12).unwrap_or(0.0))
}
