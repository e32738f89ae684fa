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

/// As [`in_order`], but 0 is done alone and what `keep` keeps of its result is given to all others, so that the answers do not
/// depend on which is ready first.
pub fn after_first<T: Send, H: Sync, E>(
    count: usize,
    work: impl Fn(usize, Option<&H>) -> T + Sync,
    keep: impl Fn(&T) -> Option<H>,
    mut take: impl FnMut(usize, T) -> Result<(), E>,
) -> Result<(), E> {
    if count == 0 {
        return Ok(());
    }
    let first = work(0, None);
    let kept = keep(&first);
    take(0, first)?;
    in_order(count - 1, |k| work(k + 1, kept.as_ref()), |k, result| take(k + 1, result))
}

#[cfg(test)]
mod tests {
    use super::{after_first, in_order};

    #[test]
    fn all_others_know_the_first() {
        let mut seen = Vec::new();
        let work = |k: usize, first: Option<&usize>| (k, first.copied());
        after_first::<_, _, ()>(
            4,
            work,
            |first| Some(first.0 + 7),
            |k, v| {
                assert_eq!(k, v.0);
                seen.push(v.1);
                Ok(())
            },
        )
        .unwrap();
        assert_eq!(seen, [None, Some(7), Some(7), Some(7)]);
        assert_eq!(after_first(0, work, |_| None, |_, _| Err(())), Ok(()));
    }

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
