// Least and greatest value of any stretch of a trace, however long, in a few steps.

const BRANCH = 8;

/**
 * Over the values stands a level with least and greatest of every 8, over it one of every 8 of those,
 * and so on. A stretch is then read off few blocks, and exactly: no peak is lost, none is moved.
 */
export class Pyramid {
  constructor(values) {
    this.levels = [{ low: values, high: values }];
    for (let below = this.levels[0]; below.low.length > BRANCH; below = this.levels.at(-1)) {
      const length = Math.ceil(below.low.length / BRANCH);
      const level = { low: new values.constructor(length), high: new values.constructor(length) };
      for (let block = 0; block < length; block += 1) {
        const first = block * BRANCH;
        const end = Math.min(first + BRANCH, below.low.length);
        let low = below.low[first];
        let high = below.high[first];
        for (let i = first + 1; i < end; i += 1) {
          if (below.low[i] < low) low = below.low[i];
          if (below.high[i] > high) high = below.high[i];
        }
        level.low[block] = low;
        level.high[block] = high;
      }
      this.levels.push(level);
    }
  }

  /** Least and greatest of the values `from` up to, not with, `to`; null for an empty stretch. */
  extent(from, to) {
    let start = Math.max(from, 0);
    let end = Math.min(to, this.levels[0].low.length);
    if (!(start < end)) return null;
    let low = Infinity;
    let high = -Infinity;
    const take = (level, i) => {
      if (level.low[i] < low) low = level.low[i];
      if (level.high[i] > high) high = level.high[i];
    };
    for (const level of this.levels) {
      const above = level !== this.levels.at(-1);
      while (start < end && !(above && start % BRANCH === 0 && start + BRANCH <= end)) {
        take(level, start);
        start += 1;
      }
      while (start < end && end % BRANCH !== 0) {
        end -= 1;
        take(level, end);
      }
      if (start >= end) break;
      start /= BRANCH;
      end /= BRANCH;
    }
    return [low, high];
  }
}
