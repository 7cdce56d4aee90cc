//! Metal potentials: which are given, which follow from a current.
//!
//! Nodes are the buses and the metals. A supply by voltage without leads ties its buses rigidly, a
//! perfect contact its body to the bus; leads and contacts with a resistance R are springs with the
//! energy ½ drop²/R. A tree of ties and springs spans each circuit, and its unknowns are the drops
//! along the tree (not the potentials: a difference of two of them would lose all digits at small
//! R), besides one potential for every further circuit that only the bath joins to the first. The
//! cathode bus of the first supply is the reference, 0 V. A supply by current adds −I (V₊ − V₋).
//! All this joins the energy of the field, and the joint problem stays convex.

use crate::kinetics::{Direction, LawError, Surface};
use crate::layout::{Drive, Layout, Role};
use crate::union::Sets;
use crate::wiring::Wiring;

/// Potential of a bus or metal: a given voltage plus some of the unknowns.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Terminal {
    /// V against the reference.
    pub(crate) fixed: f64,
    /// Unknowns to add.
    pub(crate) free: Vec<usize>,
}

impl Terminal {
    pub(crate) fn volts(&self, free: &[f64]) -> f64 {
        self.fixed + self.free.iter().map(|&k| free[k]).sum::<f64>()
    }
}

/// A body's metal surface.
#[derive(Debug, Clone)]
pub(crate) struct Electrode {
    pub(crate) surface: Surface,
    pub(crate) rest: f64,
    pub(crate) terminal: Terminal,
}

/// The energy ½ conductance (Σ factor × unknown + emf)².
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Spring {
    /// S per m of depth.
    pub(crate) conductance: f64,
    pub(crate) emf: f64,
    pub(crate) terms: Vec<(usize, f64)>,
}

impl Spring {
    /// The drop over it at some unknowns, V.
    pub(crate) fn drop(&self, free: &[f64]) -> f64 {
        self.emf + self.terms.iter().map(|&(k, c)| c * free[k]).sum::<f64>()
    }
}

/// What a supply does between its buses.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Source {
    /// Delivers a current, A per m of depth.
    Current(f64),
    /// Holds a voltage; the current is what it takes.
    Stiff,
    /// Holds a voltage behind its leads; the drop over them is minus that of the spring.
    Leads(Spring),
}

/// A supply: the voltage between its buses as fixed + Σ factor × unknown, and its source.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Line {
    pub(crate) fixed: f64,
    pub(crate) terms: Vec<(usize, f64)>,
    pub(crate) source: Source,
}

impl Line {
    /// Anode bus against cathode bus, V.
    pub(crate) fn volts(&self, free: &[f64]) -> f64 {
        self.fixed + self.terms.iter().map(|&(k, c)| c * free[k]).sum::<f64>()
    }

    /// Its current, A/m, if the source tells.
    pub(crate) fn current(&self, free: &[f64]) -> Option<f64> {
        match &self.source {
            Source::Current(i) => Some(*i),
            Source::Leads(spring) => Some(-spring.conductance * spring.drop(free)),
            Source::Stiff => None,
        }
    }
}

/// All metal of a layout and what drives it.
#[derive(Debug, Clone)]
pub(crate) struct Circuit {
    /// One entry per body; `None` for shields, screens and metal that no current reaches.
    pub(crate) electrodes: Vec<Option<Electrode>>,
    /// For every unknown the current that is pushed into it, A per m of depth.
    pub(crate) injected: Vec<f64>,
    /// Leads and contacts.
    pub(crate) springs: Vec<Spring>,
    /// The supplies.
    pub(crate) lines: Vec<Line>,
    /// The buses.
    pub(crate) buses: Vec<Terminal>,
    /// Unknowns that are potentials of a circuit, not drops.
    pub(crate) roots: Vec<usize>,
    /// First supply whose current has no way back.
    pub(crate) open: Option<usize>,
}

/// V(to) = V(from) + emf + drop; without a conductance the drop is zero.
#[derive(Debug, Clone, Copy)]
struct Edge {
    from: usize,
    to: usize,
    emf: f64,
    conductance: Option<f64>,
    supply: Option<usize>,
}

impl Circuit {
    /// True if every metal's potential is given or one unknown of its own or its bus, without
    /// leads and contacts.
    pub(crate) fn is_plain(&self) -> bool {
        let one = |e: &Electrode| e.terminal.free.len() <= 1;
        self.springs.is_empty() && self.electrodes.iter().flatten().all(one)
    }

    /// The circuit of a layout; `live` tells which bodies current can reach, `pools` which of them
    /// the same bath touches.
    pub(crate) fn new(
        layout: &Layout,
        live: &[bool],
        pools: &[Vec<usize>],
    ) -> Result<Self, LawError> {
        let wiring = Wiring::new(layout);
        let nodes = wiring.buses + layout.bodies.len();
        let metal = |b: usize| wiring.buses + b;
        let mut islands = Sets::new(nodes);
        for pool in pools {
            pool.windows(2).for_each(|w| islands.join(metal(w[0]), metal(w[1])));
        }
        let mut trees = Sets::new(nodes);
        let mut branches: Vec<Vec<Edge>> = vec![Vec::new(); nodes];
        let mut loops = Vec::new();
        let mut edges = edges(layout, &wiring);
        edges.sort_by_key(|e| e.conductance.is_some());
        for e in edges {
            islands.join(e.from, e.to);
            if trees.find(e.from) == trees.find(e.to) {
                loops.push(e);
                continue;
            }
            trees.join(e.from, e.to);
            branches[e.from].push(e);
            branches[e.to].push(Edge { from: e.to, to: e.from, emf: -e.emf, ..e });
        }
        let mut out = Self {
            electrodes: Vec::new(),
            injected: Vec::new(),
            springs: Vec::new(),
            lines: Vec::new(),
            buses: Vec::new(),
            roots: Vec::new(),
            open: None,
        };
        let mut terminals = vec![Terminal::default(); nodes];
        let mut tree_spring: Vec<Option<usize>> = vec![None; layout.supplies.len()];
        let mut unknowns = 0;
        for root in (0..nodes).filter(|&n| trees.find(n) == n) {
            if islands.find(root) != root {
                terminals[root].free.push(unknowns);
                out.roots.push(unknowns);
                unknowns += 1;
            }
            let mut open = vec![(root, usize::MAX)];
            while let Some((node, parent)) = open.pop() {
                for e in branches[node].iter().filter(|e| e.to != parent) {
                    let mut terminal = terminals[node].clone();
                    terminal.fixed += e.emf;
                    if let Some(conductance) = e.conductance {
                        terminal.free.push(unknowns);
                        if let Some(s) = e.supply {
                            tree_spring[s] = Some(out.springs.len());
                        }
                        let terms = vec![(unknowns, 1.0)];
                        out.springs.push(Spring { conductance, emf: 0.0, terms });
                        unknowns += 1;
                    }
                    terminals[e.to] = terminal;
                    open.push((e.to, node));
                }
            }
        }
        for (s, supply) in layout.supplies.iter().enumerate() {
            let [plus, minus] = wiring.poles[s];
            let (fixed, terms) = difference(&terminals[plus], &terminals[minus]);
            let source = match supply.drive {
                Drive::Current(i) => Source::Current(i.si() / layout.depth_m()),
                // set once the wetted length of the parts is known
                Drive::MeanDensity(_) => Source::Current(0.0),
                Drive::Voltage(_) => {
                    let looped = loops.iter().find(|e| e.supply == Some(s));
                    match (tree_spring[s], looped) {
                        (Some(k), _) => {
                            let conductance = out.springs[k].conductance;
                            // the drop is ± that of the tree
                            Source::Leads(Spring { conductance, emf: 0.0, terms: terms.clone() })
                        }
                        (None, Some(&Edge { emf, conductance: Some(conductance), .. })) => {
                            let spring =
                                Spring { conductance, emf: fixed - emf, terms: terms.clone() };
                            out.springs.push(spring.clone());
                            Source::Leads(spring)
                        }
                        _ => Source::Stiff,
                    }
                }
            };
            if matches!(source, Source::Current(_)) && islands.find(plus) != islands.find(minus) {
                out.open = out.open.or(Some(s));
            }
            out.lines.push(Line { fixed, terms, source });
        }
        out.buses = terminals[..wiring.buses].to_vec();
        out.injected = vec![0.0; unknowns];
        out.inject();
        for (b, (body, &live)) in layout.bodies.iter().zip(live).enumerate() {
            let Some(direction) = Direction::of(body.role) else {
                out.electrodes.push(None);
                continue;
            };
            let surface = Surface::new(&body.law, direction, layout.temperature)?;
            let terminal = terminals[metal(b)].clone();
            let electrode = Electrode { surface, rest: body.law.rest.si(), terminal };
            out.electrodes.push(live.then_some(electrode));
        }
        Ok(out)
    }

    /// Lets a supply deliver a current, A/m.
    pub(crate) fn deliver(&mut self, supply: usize, current: f64) {
        self.lines[supply].source = Source::Current(current);
        self.inject();
    }

    /// The current that a supply by current delivers, A/m.
    pub(crate) fn delivered(&self, supply: usize) -> f64 {
        match self.lines[supply].source {
            Source::Current(i) => i,
            Source::Stiff | Source::Leads(_) => 0.0,
        }
    }

    fn inject(&mut self) {
        self.injected.fill(0.0);
        for line in &self.lines {
            let Source::Current(i) = line.source else { continue };
            line.terms.iter().for_each(|&(k, c)| self.injected[k] += c * i);
        }
    }

    /// Potential of each body's metal less its rest potential, V; zero where there is no metal.
    pub(crate) fn at_rest(&self, free: &[f64]) -> Vec<f64> {
        let volts =
            |e: &Option<Electrode>| e.as_ref().map_or(0.0, |e| e.terminal.volts(free) - e.rest);
        self.electrodes.iter().map(volts).collect()
    }

    /// Potential of a body's metal, V.
    pub(crate) fn potential(&self, body: usize, free: &[f64]) -> Option<f64> {
        self.electrodes[body].as_ref().map(|e| e.terminal.volts(free))
    }
}

/// Ties and springs between buses (first) and metals (after them).
fn edges(layout: &Layout, wiring: &Wiring) -> Vec<Edge> {
    let conductance = |ohm: f64| (ohm > 0.0).then(|| 1.0 / (ohm * layout.depth_m()));
    let mut out = Vec::new();
    for (s, supply) in layout.supplies.iter().enumerate() {
        if let Drive::Voltage(v) = supply.drive {
            let [to, from] = wiring.poles[s];
            let conductance = conductance(supply.lead.si());
            out.push(Edge { from, to, emf: v.si(), conductance, supply: Some(s) });
        }
    }
    for (b, body) in layout.bodies.iter().enumerate() {
        if let Some(from) = wiring.bus_of[b] {
            let emf = if let Role::Thief { offset } = body.role { offset.si() } else { 0.0 };
            let (to, conductance) = (wiring.buses + b, conductance(body.contact.si()));
            out.push(Edge { from, to, emf, conductance, supply: None });
        }
    }
    out
}

/// V(a) − V(b): what both share cancels.
fn difference(a: &Terminal, b: &Terminal) -> (f64, Vec<(usize, f64)>) {
    let only = |x: &Terminal, y: &Terminal, sign: f64| -> Vec<(usize, f64)> {
        x.free.iter().filter(|k| !y.free.contains(k)).map(|&k| (k, sign)).collect()
    };
    (a.fixed - b.fixed, [only(a, b, 1.0), only(b, a, -1.0)].concat())
}

#[cfg(test)]
mod tests;
