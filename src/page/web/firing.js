// Counting the firing order through one engine cycle of 720 crank degrees.

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

/**
 * The count laid on the cycle from `from` to `to`, as if the crank turned evenly within it; the sync
 * stands at both ends.
 */
export function divide(from, to, count) {
  if (count.length === 0) return [];
  const marks = count.map((c) => ({ ...c, time: from + ((to - from) * c.degrees) / 720 }));
  return [...marks, { cylinder: count[0].cylinder, degrees: 720, time: to }];
}

/** Where a time stands in that cycle: its degrees, and how far it lies behind the firing before it. */
export function place(time, marks) {
  const last = marks.length - 1;
  if (last < 1 || time < marks[0].time || time > marks[last].time) return null;
  const before = marks.findLast((mark) => mark.time <= time);
  const cycle = marks[last].time - marks[0].time;
  const degrees = ((time - marks[0].time) / cycle) * 720;
  return {
    degrees,
    after: before.cylinder,
    degreesAfter: degrees - before.degrees,
    secondsAfter: time - before.time,
  };
}
