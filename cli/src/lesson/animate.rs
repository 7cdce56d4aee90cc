//! An anode that moves towards the recess, as an animated PNG.
//!
//! All frames share one colour scale, so that a colour means the same current density throughout.

use rayon::prelude::*;

use super::jobs::Recess;
use super::reading::{LessonError, Reading};
use super::words::{percent, um};
use crate::output::Frame;

/// Distances of the anode's face from the mouth, mm, there and back.
const FAR_MM: f64 = 300.0;
const NEAR_MM: f64 = 30.0;
/// Frames on the way there.
const FRAMES: usize = 13;
const WIDTH: f64 = 560.0;
/// Ends of the colours, A/m²; a logarithmic scale, because the recess has a tenth of the rim's.
const COLOURS_A_M2: [f64; 2] = [20.0, 800.0];

/// The animation, which runs for ever; `step` is told how many of how many frames are drawn.
///
/// # Errors
/// [`LessonError`]: only for a fault of this program.
pub fn animation(step: &(dyn Fn(usize, usize) + Sync)) -> Result<Vec<u8>, LessonError> {
    let done = std::sync::atomic::AtomicUsize::new(0);
    let frames: Result<Vec<image::RgbImage>, LessonError> = (0..FRAMES)
        .into_par_iter()
        .map(|k| {
            let gap = FAR_MM * (NEAR_MM / FAR_MM).powf(k as f64 / (FRAMES - 1) as f64);
            // whole millimetres, so that the words are exact
            let recess = Recess { gap_mm: gap.round(), ..Recess::BASE };
            let reading = Reading::new("moving anode", recess)?;
            let frame = Frame {
                layout: &reading.job.layout,
                solution: reading.solved.first(),
                width: WIDTH,
                scale_a_m2: COLOURS_A_M2,
                title: format!("Anode {} mm before the mouth", recess.gap_mm),
                lines: vec![
                    format!("rim {}, bottom {} in 30 min", um(reading.rim), um(reading.bottom)),
                    format!("bottom over rim: {}", percent(reading.evenness())),
                ],
            };
            let drawn = frame.pixels()?;
            step(done.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1, FRAMES);
            Ok(drawn)
        })
        .collect();
    let frames = frames?;
    let back = frames.iter().rev().skip(1).take(FRAMES.saturating_sub(2));
    let all: Vec<&image::RgbImage> = frames.iter().chain(back).collect();
    let mut bytes = Vec::new();
    let (width, height) = frames.first().map_or((1, 1), image::RgbImage::dimensions);
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::High);
    encoder.set_animated(all.len() as u32, 0)?;
    encoder.set_frame_delay(1, 5)?;
    let mut writer = encoder.write_header()?;
    for frame in all {
        writer.write_image_data(frame)?;
    }
    writer.finish()?;
    Ok(bytes)
}
