//! Many sites at once: one thread finds blocks of them, as many as there are cores judge them, and
//! what came of each is handed on in the order in which the blocks were found.
//!
//! However many sites there are, only so many blocks are held as there are workers to keep busy.

use crate::texts::{Block, blocks, is_one_site};
use std::io::{self, IsTerminal, Write};
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

/// Blocks that may wait for each worker.
const AHEAD: usize = 2;

/// What one worker does with a block. It is made in the thread that uses it, and need not leave it.
pub type Work<Done> = Box<dyn FnMut(Block) -> io::Result<Done>>;

/// Makes a worker.
pub type WorkerFactory<Done> = Arc<dyn Fn() -> io::Result<Work<Done>> + Send + Sync>;

/// Has every block that the paths lead to worked on, and hands on what came of each, in order.
///
/// # Errors
/// The first error of a worker or of `take`. Threads that still wait for input are left behind: the
/// program is about to end.
pub fn in_order<Done: Send + 'static>(
    paths: &[PathBuf],
    jobs: usize,
    make_worker: WorkerFactory<Done>,
    take: &mut dyn FnMut(Done) -> io::Result<()>,
) -> io::Result<()> {
    if jobs == 1 || is_one_site(paths) {
        let mut work = make_worker()?;
        return blocks(paths, &mut |block| take(work(block)?));
    }
    let (order, answers) = sync_channel(jobs * AHEAD);
    let paths = paths.to_vec();
    let finder = thread::spawn(move || find(&paths, jobs, &make_worker, &order));
    for answer in answers {
        take(answer.recv().map_err(|_| io::Error::other("a worker ended before its answer"))??)?;
    }
    finder.join().map_err(|_| io::Error::other("the search for sites ended early"))?
}

/// A block, and where the answer goes.
type Task<Done> = (Block, SyncSender<io::Result<Done>>);

/// Finds blocks, and starts workers as long as there is something for them to do.
fn find<Done: Send + 'static>(
    paths: &[PathBuf],
    jobs: usize,
    make_worker: &WorkerFactory<Done>,
    order: &SyncSender<Receiver<io::Result<Done>>>,
) -> io::Result<()> {
    let nobody_waits = || io::Error::from(io::ErrorKind::BrokenPipe);
    let (tasks, queue) = sync_channel::<Task<Done>>(jobs * AHEAD);
    let mut queue = Some(Arc::new(Mutex::new(queue)));
    let mut workers = 0;
    blocks(paths, &mut |block| {
        if let Some(shared) = &queue {
            let (make_worker, shared) = (make_worker.clone(), shared.clone());
            thread::spawn(move || work_off(&make_worker, &shared));
            workers += 1;
        }
        if workers == jobs {
            // the workers' own: once all of them ended, nobody waits for a task
            queue = None;
        }
        let (answer, slot) = sync_channel(1);
        order.send(slot).map_err(|_| nobody_waits())?;
        tasks.send((block, answer)).map_err(|_| nobody_waits())
    })
}

fn work_off<Done>(make_worker: &WorkerFactory<Done>, queue: &Mutex<Receiver<Task<Done>>>) {
    let next = || queue.lock().ok().and_then(|queue| queue.recv().ok());
    let mut work: Option<Work<Done>> = None;
    while let Some((block, answer)) = next() {
        let done = match &mut work {
            Some(work) => work(block),
            None => make_worker().and_then(|worker| (work.insert(worker))(block)),
        };
        // nobody waits for it where the program is about to end
        let _ = answer.send(done);
    }
}

/// How many jobs to use: as asked, or one for each core.
pub fn jobs(asked: Option<u16>) -> usize {
    asked.map_or_else(|| thread::available_parallelism().map_or(1, usize::from), usize::from)
}

/// A line on a terminal's standard error, once a second, for work that takes longer than that. It
/// stands only while nothing else is written.
pub struct Progress {
    /// What is counted: `sites`.
    what: &'static str,
    done: usize,
    began: Instant,
    next: Instant,
    on_terminal: bool,
    shown: bool,
}

impl Progress {
    /// Nothing done yet; `what` is counted, such as `sites`.
    pub fn of(what: &'static str) -> Self {
        let began = Instant::now();
        Self { what, done: 0, began, next: began + Duration::from_secs(1), on_terminal: io::stderr().is_terminal(), shown: false }
    }

    /// So many more are done.
    pub fn step(&mut self, more: usize) {
        self.done += more;
        if self.on_terminal && Instant::now() >= self.next {
            self.next = Instant::now() + Duration::from_secs(1);
            self.shown = true;
            let a_second = self.done as f64 / self.began.elapsed().as_secs_f64();
            let _ = write!(io::stderr(), "\r{} {} looked at, {a_second:.0} a second ", self.done, self.what);
        }
    }

    /// Has whole answers on a terminal before the line stands below them.
    pub fn flush_beside(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.on_terminal { out.flush() } else { Ok(()) }
    }

    /// Takes the line away, before something is written that may go to the same terminal.
    pub fn clear(&mut self) {
        if std::mem::take(&mut self.shown) {
            let _ = write!(io::stderr(), "\r\u{1b}[K");
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.clear();
    }
}
