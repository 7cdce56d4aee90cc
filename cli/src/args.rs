//! The command line as it is typed.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

use crate::outputs::Output;
use crate::terminal::Colour;

const EXAMPLES: &str = "\
Examples:
  throwmap init bath.toml          write a commented job file that solves at once
  throwmap run bath.toml           solve it; pictures, tables and a verdict in this folder

";

const EXIT_STATUS: &str = "\
Exit status:
  0  done, and within what the job wants
  1  done, but the thickness that [want] states is missed
  2  wrong usage, or a job file that cannot be used
  3  the solver did not reach an answer
  4  a result cannot be written
  130  stopped by Ctrl-C; what a sweep has done is kept

This is a planning aid. Baths, fumes and rectifiers can hurt: follow local codes, the safety data
sheets, and the advice of qualified chemists and electricians.";

/// Shows where the metal will go before a part goes into the plating tank.
#[derive(Debug, Parser)]
#[command(name = "throwmap", version, before_help = EXAMPLES.trim_end(), after_help = EXIT_STATUS, max_term_width = 100)]
pub struct Arguments {
    /// When to use colour in messages
    #[arg(long = "color", value_name = "WHEN", default_value = "auto", global = true)]
    pub colour: Colour,

    /// What to do
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Solve a job: current density, thickness, pictures, tables, verdict
    Run(RunOptions),
    /// Solve several jobs and lay them side by side: one table, one scale
    Compare(CompareOptions),
    /// Check a job file and draw its layout, without solving
    Check(CheckOptions),
    /// Write the outlines of tank and bodies as a drawing, DXF or SVG
    Export(ExportOptions),
    /// Write a commented job file that solves at once
    Init(InitOptions),
    /// Print the JSON Schema of job files, for editors, or of summary.json, for programs
    Schema(SchemaOptions),
    /// List the bath library, or show one bath with the source of every value
    Baths(BathsOptions),
    /// Try what the trade would try about thin and thick places, and rank it
    Remedies(RemediesOptions),
    /// Find the values of a job's numbers that serve an aim best and keep to limits
    Search(SearchOptions),
    /// Solve a job for many values of its numbers at once: table, charts, the best
    Sweep(SweepOptions),
    /// Write a page on why recesses plate thin, every number solved anew
    Lesson(LessonOptions),
    /// Say what must be held tightly at the tank: conductivity, current, the place of every body
    Sensitivity(SensitivityOptions),
    /// Explain a coating designation such as "Fe/Cu20 Ni30b Cr r", or list the service classes
    Designation(DesignationOptions),
}

/// Where results go, and how much is said: shared by the commands that solve.
#[derive(Debug, Args)]
pub struct ResultsOptions {
    /// Folder for the results, made if missing [default: this folder, names begin with the job's]
    #[arg(long, value_name = "DIR")]
    pub out_dir: Option<PathBuf>,

    /// Write over results of an earlier run
    #[arg(long)]
    pub force: bool,

    /// No progress, no list of files: only what is found
    #[arg(short, long)]
    pub quiet: bool,
}

/// Options of `run`.
#[derive(Debug, Args)]
pub struct RunOptions {
    /// Job file (TOML), or - for standard input
    pub job: String,

    /// One file, by its name: bell.map.svg, profile.pdf, all.pdf, field.csv; may be repeated. Only
    /// these are written unless --out-dir is given too
    #[arg(short, long, value_name = "FILE", value_parser = Output::parse)]
    pub output: Vec<Output>,

    /// Where the results go
    #[command(flatten)]
    pub results: ResultsOptions,

    /// Do not solve again with assumed bath values at the ends of their ranges: quicker
    #[arg(long)]
    pub no_ranges: bool,
}

/// Options of `remedies`.
#[derive(Debug, Args)]
pub struct RemediesOptions {
    /// Job file (TOML), or - for standard input
    pub job: String,

    /// Where the results go
    #[command(flatten)]
    pub results: ResultsOptions,

    /// Other baths at hand, by name, to be tried as they stand
    #[arg(long, value_name = "NAME", value_delimiter = ',')]
    pub baths: Vec<String>,

    /// Job files and pictures for this many of the best at most
    #[arg(long, value_name = "COUNT", default_value_t = 5)]
    pub most: usize,
}

/// Options of `sensitivity`.
#[derive(Debug, Args)]
pub struct SensitivityOptions {
    /// Job file (TOML), or - for standard input
    pub job: String,

    /// What can be held: conductivity=10%, polarization=20%, position="5 mm", current=3% (these
    /// unless said otherwise); zero leaves one out
    #[arg(short, long = "tolerance", value_name = "NAME=VALUE")]
    pub tolerances: Vec<String>,

    /// Where the results go
    #[command(flatten)]
    pub results: ResultsOptions,
}

/// Options of `search`.
#[derive(Debug, Args)]
pub struct SearchOptions {
    /// Job file (TOML), or - for standard input
    pub job: String,

    /// A value of the job by its dotted name, with what it may be: anode.left.move.x=-40..40mm,
    /// supply.current=20..60A, 40..60mm:5 in multiples of 5, part.turn=0,90,180,
    /// bath.use=watts-nickel,nickel-sulfamate; may be repeated
    #[arg(long, value_name = "NAME=VALUES")]
    pub vary: Vec<String>,

    /// What is to become least: time (to the least wanted), waste (metal beyond it), even (greatest
    /// over least thickness), or any figure, such as voltage; of several, each by its weight (time:2,
    /// waste:0.5/g) [default: time]
    #[arg(long, value_name = "FIGURE[:WEIGHT]")]
    pub aim: Vec<String>,

    /// What must be kept to: 'volts<=6', 'burning<=2 %', 'least>=12 um'; may be repeated. Without
    /// one on burning, no more than 1 % of the surface may burn
    #[arg(long, value_name = "FIGURE<=VALUE")]
    pub limit: Vec<String>,

    /// Least distance of what is moved from walls and other bodies, such as '5 mm'
    #[arg(long, value_name = "LENGTH")]
    pub clearance: Option<String>,

    /// The two figures of the trade-off chart, such as time,waste [default: the aims come first]
    #[arg(long, value_name = "FIGURE,FIGURE")]
    pub front: Option<String>,

    /// Layouts solved at most
    #[arg(long, value_name = "COUNT", default_value_t = 150, value_parser = at_least::<8>)]
    pub budget: usize,

    /// Another seed searches along other ways; the same one finds the same
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub seed: u64,

    /// How many layouts, well apart from each other, are shown and written at most
    #[arg(long, value_name = "COUNT", default_value_t = 3, value_parser = at_least::<1>)]
    pub best: usize,

    /// Where the results go
    #[command(flatten)]
    pub results: ResultsOptions,
}

/// Reads a whole number of `LEAST` or more.
fn at_least<const LEAST: usize>(text: &str) -> Result<usize, String> {
    match text.parse() {
        Ok(count) if (LEAST..=1_000_000).contains(&count) => Ok(count),
        _ => Err(format!("expected a whole number from {LEAST} to 1000000")),
    }
}

/// Options of `sweep`.
#[derive(Debug, Args)]
pub struct SweepOptions {
    /// Job file (TOML), or - for standard input
    pub job: String,

    /// A value of the job by its dotted name, with its values: anode.left.move.x=40..160mm/13,
    /// supply.current=20..60A/5, 5..500A/9log in equal ratios, 40..60mm:5 in multiples of 5,
    /// part.turn=0,90,180, bath.use=watts-nickel,nickel-sulfamate; may be repeated
    #[arg(long, value_name = "NAME=VALUES")]
    pub vary: Vec<String>,

    /// So many combinations spread evenly over the ranges, instead of all of them
    #[arg(long, value_name = "COUNT")]
    pub sample: Option<usize>,

    /// Go on with a sweep that was stopped: solves only what is missing
    #[arg(long)]
    pub resume: bool,

    /// Solve one part only, such as 3/16, to be merged with the others later
    #[arg(long, value_name = "PART/PARTS", value_parser = shard)]
    pub shard: Option<(usize, usize)>,

    /// Solve nothing: join the tables of all parts into the whole
    #[arg(long, value_name = "FILE", num_args = 1.., conflicts_with_all = ["vary", "sample", "shard", "resume"])]
    pub merge: Vec<PathBuf>,

    /// Where the results go
    #[command(flatten)]
    pub results: ResultsOptions,
}

/// Reads `3/16`.
fn shard(text: &str) -> Result<(usize, usize), String> {
    let numbers = text.split_once('/').and_then(|(part, parts)| {
        Some((part.trim().parse().ok()?, parts.trim().parse::<usize>().ok()?))
    });
    match numbers {
        Some((part, parts)) if (1..=parts).contains(&part) => Ok((part, parts)),
        _ => Err("expected PART/PARTS such as 3/16, with PART from 1 to PARTS".into()),
    }
}

/// Options of `compare`.
#[derive(Debug, Args)]
pub struct CompareOptions {
    /// Job files (TOML); the others are set against the first
    #[arg(required = true, num_args = 2.., value_name = "JOB")]
    pub jobs: Vec<String>,

    /// Where the results go
    #[command(flatten)]
    pub results: ResultsOptions,
}

/// Options of `check`.
#[derive(Debug, Args)]
pub struct CheckOptions {
    /// Job file (TOML), or - for standard input
    pub job: String,

    /// The drawing's file, as .png, .svg or .pdf; may be repeated
    #[arg(short, long, value_name = "FILE", value_parser = Output::parse_layout)]
    pub output: Vec<Output>,

    /// Folder for the drawing, made if missing [default: this folder, named after the job]
    #[arg(long, value_name = "DIR")]
    pub out_dir: Option<PathBuf>,

    /// Write over the drawing of an earlier run
    #[arg(long)]
    pub force: bool,

    /// Check only, draw nothing
    #[arg(long)]
    pub no_drawing: bool,

    /// Say nothing if all is well
    #[arg(short, long)]
    pub quiet: bool,
}

/// Options of `export`.
#[derive(Debug, Args)]
pub struct ExportOptions {
    /// Job file (TOML), or - for standard input
    pub job: String,

    /// The drawing, a new file that ends in .dxf or .svg
    pub file: PathBuf,
}

/// Options of `init`.
#[derive(Debug, Args)]
pub struct InitOptions {
    /// Where to write it, or - for standard output
    #[arg(default_value = "bath.toml")]
    pub file: PathBuf,
}

/// Options of `lesson`.
#[derive(Debug, Args)]
pub struct LessonOptions {
    /// The page
    #[arg(short, long, value_name = "FILE", default_value = "lesson.html")]
    pub output: PathBuf,

    /// Also draw an anode that moves, as an animated PNG
    #[arg(long, value_name = "FILE")]
    pub animate: Option<PathBuf>,

    /// Also write the lesson's job files into this folder
    #[arg(long, value_name = "DIR")]
    pub jobs: Option<PathBuf>,

    /// Write over what is there
    #[arg(long)]
    pub force: bool,
}

/// Options of `schema`.
#[derive(Debug, Args)]
pub struct SchemaOptions {
    /// That of summary.json instead
    #[arg(long)]
    pub summary: bool,
}

/// Options of `baths`.
#[derive(Debug, Args)]
pub struct BathsOptions {
    /// Bath file of your own [default: baths.toml in this folder, if it is there]
    #[arg(long, value_name = "FILE")]
    pub file: Option<String>,

    /// Name of a bath, such as watts-nickel
    pub name: Option<String>,
}

/// Options of `designation`.
#[derive(Debug, Args)]
pub struct DesignationOptions {
    /// Designation of ISO 1456, ASTM B456, ISO 2081 or ASTM B633, or a class such as SC3
    pub text: Option<String>,
}
