//! Work on many things at once, its results taken in the order of the things.

use crate::failure::Failure;
use std::collections::BTreeMap;
use std::num::NonZeroUsize;
use std::sync::mpsc::{self, Receiver, Sender};
use std::sync::{Mutex, PoisonError};
use std::thread;

/// Does `each` to every item, so many at once, and hands the results to `take` in the order of the items; `take` runs on
/// the calling thread. Each worker keeps a value of its own, made by `each` when it first needs it.
///
/// At most four items a worker are given out and not yet taken: a slow one holds up no worker, and what waits behind it
/// stays few.
pub fn in_order<I: Send, O: Send, W>(
    items: Vec<I>,
    workers: NonZeroUsize,
    each: impl Fn(&mut Option<W>, I) -> O + Sync,
    mut take: impl FnMut(O) -> Result<(), Failure>,
) -> Result<(), Failure> {
    let (give, get) = mpsc::channel::<(usize, I)>();
    let (tell, hear) = mpsc::channel::<(usize, O)>();
    let get = Mutex::new(get);
    thread::scope(|scope| {
        // Dropped with this closure, so that the workers end whatever ends it.
        let give = give;
        for _ in 0..workers.get().min(items.len()) {
            let (get, tell, each) = (&get, tell.clone(), &each);
            scope.spawn(move || work(get, &tell, each));
        }
        drop(tell);
        let all = items.len();
        let mut items = items.into_iter().enumerate();
        let mut waiting = BTreeMap::new();
        let (mut given, mut turn) = (0, 0);
        while turn < all {
            while given < all && given - turn < 4 * workers.get() {
                items.next().into_iter().for_each(|item| drop(give.send(item)));
                given += 1;
            }
            let Ok((n, out)) = hear.recv() else { return Err(Failure::NoThreads) };
            waiting.insert(n, out);
            while let Some(out) = waiting.remove(&turn) {
                take(out)?;
                turn += 1;
            }
        }
        Ok(())
    })
}

fn work<I, O, W>(
    get: &Mutex<Receiver<(usize, I)>>,
    tell: &Sender<(usize, O)>,
    each: &impl Fn(&mut Option<W>, I) -> O,
) {
    let mut own = None;
    loop {
        let next = get.lock().unwrap_or_else(PoisonError::into_inner).recv();
        let Ok((n, item)) = next else { return };
        if tell.send((n, each(&mut own, item))).is_err() {
            return;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn done(workers: usize, stop_at: u32) -> (Vec<u32>, bool) {
        let mut taken = Vec::new();
        let each = |own: &mut Option<u32>, item: u32| {
            *own.get_or_insert(0) += 1;
            std::thread::sleep(std::time::Duration::from_micros(u64::from(item * 7 % 5) * 100));
            item
        };
        let take = |item| {
            taken.push(item);
            if item == stop_at { Err(Failure::NoClock) } else { Ok(()) }
        };
        let workers = NonZeroUsize::new(workers).unwrap();
        let ended = in_order((0..100).collect(), workers, each, take).is_ok();
        (taken, ended)
    }

    #[test]
    fn results_come_in_order_and_an_error_ends_all() {
        for workers in [1, 3, 200] {
            assert_eq!(done(workers, 1000), ((0..100).collect(), true));
            assert_eq!(done(workers, 41), ((0..42).collect(), false));
        }
    }
}
