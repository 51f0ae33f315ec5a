// The firing order laid along a run: the compression TDC of every cylinder, cycle by cycle of 720 crank degrees.

/** A mark of the sync is looked for this far from where it is due, in cycles. */
const DUE = 1 / 8;
/** A cursor this near to a mark means the mark, in cycles: a hand is no finer on a whole run. */
const ON = 1 / 200;
/** A cycle lasts so long at least, s: 12 000 rev/min. */
export const SHORTEST = 0.01;

/**
 * Cylinders in the order in which they fire, from `sync` on, each with the crank degrees from the
 * sync's firing to its own. `intervals[k]` lies between the k-th cylinder of the order and the next.
 */
export function countFrom(order, intervals, sync) {
  const start = order.indexOf(sync);
  if (start < 0) return [];
  let degrees = 0;
  return order.map((_, i) => {
    const at = (start + i) % order.length;
    const entry = { cylinder: order[at], degrees };
    degrees += intervals[at];
    return entry;
  });
}

/** The mark nearest to where one is due, null if none is within reach. */
function nearest(marks, due, reach) {
  let found = null;
  for (const mark of marks) {
    if (Math.abs(mark - due) <= (found === null ? reach : Math.abs(found - due))) found = mark;
  }
  return found;
}

/** Starts of further cycles, on from `from`, the one before it being `before`, until one is past `end`. */
function further(before, from, end, marks, offset) {
  const cycle = from - before;
  const starts = [];
  let step = cycle;
  let at = from;
  while ((end - at) * Math.sign(cycle) > 0) {
    const due = at + step;
    const mark = nearest(marks, due - offset, Math.abs(cycle) * DUE);
    const start = mark === null ? due : mark + offset;
    // The next cycle is as long as this one, but a row of odd marks does not run away with it.
    if (Math.abs((start - at) / cycle - 1) < 0.5) step = start - at;
    at = start;
    starts.push({ at, sure: mark !== null });
  }
  return starts;
}

/**
 * Starts of all cycles of a run, as crank angles of its clock, in order. Two of them are where the reader's
 * cursors lie. If marks of the sync lie at both, every cycle starts at its own mark, or as far from it as the
 * first cursor is laid from its; a cycle without a mark is as long as the one beside it, and not sure.
 */
export function cycles([a, b], marks, [start, end]) {
  const reach = (b - a) * DUE;
  const [first, second] = [nearest(marks, a, reach), nearest(marks, b, reach)];
  const followed = first !== null && second !== null && first !== second;
  const offset = followed && Math.abs(a - first) > (b - a) * ON ? a - first : 0;
  const from = followed ? first + offset : a;
  const known = followed ? marks : [];
  const next = followed ? second + offset : b;
  const before = further(next, from, start, known, offset).reverse();
  return { followed, starts: [...before, { at: from, sure: true }, { at: next, sure: true }, ...further(from, next, end, known, offset)] };
}

/**
 * The firings along a run: cylinder, time of its compression TDC, degrees and place in the count from the
 * sync, and whether both ends of its cycle are sure. `ahead` is how many degrees after a cycle's start the
 * sync's TDC comes.
 */
export function firings(starts, count, ahead, clock, [start, end]) {
  const list = [];
  const [least, most] = [clock.angleAt(start), clock.angleAt(end)];
  for (let cycle = -1; cycle < starts.length; cycle += 1) {
    count.forEach(({ cylinder, degrees }, index) => {
      const turns = cycle + (degrees + ahead) / 720;
      const at = Math.floor(turns);
      if (!starts[at] || !starts[at + 1]) return;
      const angle = starts[at].at + (starts[at + 1].at - starts[at].at) * (turns - at);
      // The crank stands still before the least angle.
      if (!(angle > least && angle <= most)) return;
      list.push({ cylinder, time: clock.timeAt(angle), angle, degrees, index, sure: starts[at].sure && starts[at + 1].sure });
    });
  }
  return list;
}

/** Where a time stands among the firings; null before the first and after the last. */
export function place(time, list, clock) {
  const next = list.findIndex((firing) => firing.time > time);
  if (next < 1) return null;
  const [before, after] = [list[next - 1], list[next]];
  const gap = after.degrees > before.degrees ? after.degrees - before.degrees : after.degrees - before.degrees + 720;
  const share = (clock.angleAt(time) - before.angle) / (after.angle - before.angle);
  return {
    after: before.cylinder,
    seconds: time - before.time,
    degrees: before.degrees + share * gap,
    intervals: before.index + share,
  };
}
