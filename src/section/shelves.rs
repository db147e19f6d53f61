//! Spans sorted into shelves, so that only those near a place are looked at.

/// Fewest spans that are worth more than one shelf.
const FEW: usize = 12;
/// Most shelves: a span that reaches over all of them lies on each.
const MOST: usize = 256;

/// Spans along a line, each on all shelves that it reaches over.
#[derive(Debug)]
pub(super) struct Shelves {
    low: f64,
    /// Shelves per millimetre.
    density: f64,
    /// Where each shelf starts in `items`, and where the last ends.
    starts: Vec<u32>,
    items: Vec<u32>,
}

impl Shelves {
    /// Shelves of spans from and to, mm.
    pub(super) fn new(spans: impl ExactSizeIterator<Item = (f64, f64)> + Clone) -> Shelves {
        let (low, high) = spans
            .clone()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), (a, b)| (l.min(a), h.max(b)));
        let count = if spans.len() < FEW { 1 } else { spans.len().min(MOST) };
        let width = high - low;
        let density = if width > 0.0 && width.is_finite() { count as f64 / width } else { 0.0 };
        let mut out = Shelves { low, density, starts: vec![0; count + 1], items: Vec::new() };
        for (from, to) in spans.clone() {
            for shelf in out.shelf(from)..=out.shelf(to) {
                out.starts[shelf + 1] += 1;
            }
        }
        for shelf in 0..count {
            out.starts[shelf + 1] += out.starts[shelf];
        }
        let mut next = out.starts.clone();
        out.items = vec![0; next[count] as usize];
        for (item, (from, to)) in spans.enumerate() {
            let shelves = out.shelf(from)..=out.shelf(to);
            for next in &mut next[shelves] {
                out.items[*next as usize] = item as u32;
                *next += 1;
            }
        }
        out
    }

    /// All spans that hold a place, and some beside it, in their order.
    pub(super) fn at(&self, place: f64) -> &[u32] {
        let shelf = self.shelf(place);
        &self.items[self.starts[shelf] as usize..self.starts[shelf + 1] as usize]
    }

    /// The shelf of a place, the first or last one of what lies beyond. It never falls while the
    /// place rises, so that no span misses the shelf of a place within it.
    fn shelf(&self, place: f64) -> usize {
        // A cast takes what is no number, or below zero, for zero.
        (((place - self.low) * self.density) as usize).min(self.starts.len() - 2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_span_is_missed_and_few_are_seen() {
        let mut rng = fastrand::Rng::with_seed(5);
        for count in [0, 1, 5, 50, 2000] {
            let spans: Vec<(f64, f64)> = (0..count)
                .map(|_| {
                    let from = 100.0 * rng.f64() - 50.0;
                    (from, from + rng.f64().powi(4) * 20.0)
                })
                .collect();
            let shelves = Shelves::new(spans.iter().copied());
            let mut seen = 0;
            let ends: Vec<f64> = spans.iter().flat_map(|&(from, to)| [from, to]).collect();
            let places = ends.iter().copied().chain((-60..60).map(f64::from));
            let asked = places.clone().count();
            for place in places {
                let found = shelves.at(place);
                seen += found.len();
                assert!(found.is_sorted());
                for (i, &(from, to)) in spans.iter().enumerate() {
                    let holds = from <= place && place <= to;
                    assert!(!holds || found.contains(&(i as u32)), "{place} in {from} to {to}");
                }
            }
            assert!(count < 50 || seen < asked * count / 4, "{seen} of {}", asked * count);
        }
        let alone = Shelves::new([(1.0, 1.0); 20].into_iter());
        assert_eq!(alone.at(1.0).len(), 20);
        assert_eq!(alone.at(f64::NAN).len(), 20);
    }
}
