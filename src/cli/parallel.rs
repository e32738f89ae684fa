//! Many photos at once, results in the order given.
use rayon::iter::{ParallelBridge, ParallelIterator};
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc;

/// Does `work` for 0..count on all cores and hands each result to `take` as soon as it and all before it are done.
/// When `take` fails, no new work is started and its error is the answer.
pub fn in_order<T: Send, E>(
    count: usize,
    work: impl Fn(usize) -> T + Sync,
    mut take: impl FnMut(usize, T) -> Result<(), E>,
) -> Result<(), E> {
    let stop = AtomicBool::new(false);
    let (sender, results) = mpsc::channel();
    std::thread::scope(|scope| {
        let (stop, work) = (&stop, &work);
        scope.spawn(move || {
            // Handed out one by one from the front, so that the first rows are there first.
            (0..count).par_bridge().for_each_with(sender, |sender, k| {
                if !stop.load(Ordering::Relaxed) {
                    let _ = sender.send((k, work(k)));
                }
            });
        });
        let mut waiting = BTreeMap::new();
        let mut next = 0;
        for (k, result) in results {
            waiting.insert(k, result);
            while let Some(result) = waiting.remove(&next) {
                if let Err(e) = take(next, result) {
                    stop.store(true, Ordering::Relaxed);
                    return Err(e);
                }
                next += 1;
            }
        }
        Ok(())
    })
}

#[cfg(test)]
mod tests {
    use super::in_order;

    #[test]
    fn results_come_in_order_and_an_error_stops_the_work() {
        let mut seen = Vec::new();
        let slow_first = |k: usize| {
            std::thread::sleep(std::time::Duration::from_millis(if k.is_multiple_of(7) { 5 } else { 0 }));
            k * k
        };
        in_order::<_, ()>(50, slow_first, |k, v| {
            seen.push((k, v));
            Ok(())
        })
        .unwrap();
        assert_eq!(seen, (0..50).map(|k| (k, k * k)).collect::<Vec<_>>());
        let answer = in_order(50, |k| k, |k, _| if k == 3 { Err(k) } else { Ok(()) });
        assert_eq!(answer, Err(3));
    }
}
