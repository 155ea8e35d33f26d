// The fault hunt without a server: the sums of upkeep/hunting.py, upkeep/next_test.py and usecases/hunt/reasoning.py,
// written out again. A test holds both equal. Two causes at most are there at once, so a state is a pair of numbers.
const SURELY = 1 - 1e-9, KEPT_STATES = 160, LIGHT = 0.01, TIE = 1e-10, WORK = 150000, BEAM = [0, 1, 6, 5];
const total = (values) => { let sum = 0; for (const one of values) sum += one; return sum; };

function states(causes) {
  const a = [-1], b = [-1];
  for (let i = 0; i < causes; i++) { a.push(i); b.push(-1); }
  for (let i = 0; i < causes; i++) for (let j = i + 1; j < causes; j++) { a.push(i); b.push(j); }
  return { a: Int16Array.from(a), b: Int16Array.from(b), length: a.length };
}

function weighed(beliefs, likelihood) {
  const weights = beliefs.map((one, s) => one * likelihood[s]), sum = total(weights);
  return weights.map((one) => one / sum);
}

// One value for each state, out of one for each cause that is there.
function each(there, values, made) {
  const out = new Float64Array(there.length);
  for (let s = 0; s < there.length; s++) out[s] = made((there.a[s] < 0 ? 0 : values[there.a[s]]) + (there.b[s] < 0 ? 0 : values[there.b[s]]));
  return out;
}

// Chance of each answer in each state, “nothing wrong” first.
function answerChances(there, shows, falseAlarm) {
  const causes = shows[0].length, all = new Float64Array(causes);
  for (const row of shows) for (let c = 0; c < causes; c++) all[c] += row[c];
  const quiet = each(there, all.map((one) => Math.log1p(-Math.min(one, SURELY))), (sum) => Math.exp(sum));
  const strong = shows.map((row) => each(there, row, (sum) => sum)), sums = each(there, all, (sum) => Math.max(sum, 1e-300));
  return [
    quiet.map((one) => one * (1 - falseAlarm)),
    ...strong.map((row) => row.map((one, s) => (1 - quiet[s]) * (one / sums[s]) + quiet[s] * falseAlarm / shows.length)),
  ];
}

// A hunt on one car: symptoms and steps as the journal has them.
class Hunt {
  constructor(sums, car, symptoms, steps) {
    Object.assign(this, { sums, car, symptoms, steps });
    const seen = symptoms.map((key) => sums.symptoms[key]), first = new Set(seen.flatMap((one) => one.first));
    const causes = car.causes.filter(([key]) => seen.some((one) => key in one.links));
    this.keys = causes.map(([key]) => key);
    this.number = new Map(this.keys.map((key, n) => [key, n]));
    this.vain = Float64Array.from(causes, ([, , minutes]) => minutes);
    this.tests = car.tests.filter(([key]) => first.has(key) || sums.tests[key].answers.some((one) => this.keys.some((cause) => cause in one.links)));
    this.there = states(this.keys.length);
    this.seen = seen;
    this.told = new Map();
    const odds = causes.map(([, prior]) => prior / (1 - prior));
    let beliefs = new Float64Array(this.there.length);
    for (let s = 0; s < beliefs.length; s++) beliefs[s] = (this.there.a[s] < 0 ? 1 : odds[this.there.a[s]]) * (this.there.b[s] < 0 ? 1 : odds[this.there.b[s]]);
    beliefs = weighed(beliefs, new Float64Array(beliefs.length).fill(1));
    for (const one of seen) {
      const strength = this.keys.map((key) => Math.log1p(-Math.min(one.links[key] ?? 0, SURELY)));
      beliefs = weighed(beliefs, each(this.there, strength, (sum) => 1 - (1 - sums.leak) * Math.exp(sum)));
    }
    this.before = beliefs;
    for (const step of steps) beliefs = this.further(beliefs, step);
    this.now = beliefs;
  }

  answers(key) {
    if (!this.told.has(key)) {
      const shows = this.sums.tests[key].answers.map((one) => Float64Array.from(this.keys, (cause) => one.links[cause] ?? 0));
      this.told.set(key, answerChances(this.there, shows, this.sums.falseAlarm));
    }
    return this.told.get(key);
  }

  further(beliefs, { said, test, word, cause }) {
    const c = this.number.get(cause), known = this.sums.tests[test];
    const has = (s) => this.there.a[s] === c || this.there.b[s] === c;
    if (said === "same" && c !== undefined) return this.inVain(beliefs, c, has);
    if (said === "good" && known) return weighed(beliefs, this.answers(test)[0]);
    const n = said === "shown" && known ? known.answers.findIndex((one) => one.word === word) : -1;
    if (n >= 0) return weighed(beliefs, this.answers(test)[n + 1]);
    if (said === "not-it" && c !== undefined) return weighed(beliefs, beliefs.map((_, s) => (has(s) ? 1 - this.sums.looked : 1)));
    return beliefs;
  }

  // A cause was mended in vain: the mend failed, the other of two is left, or none in the list is.
  inVain(beliefs, cause, has) {
    const works = this.sums.fitSuccess, after = beliefs.map((one, s) => (has(s) ? one * (1 - works) : one));
    after[0] += works * this.sums.leak * beliefs[1 + cause];
    for (let s = 1 + this.keys.length; s < beliefs.length; s++) if (has(s)) {
      const other = this.there.a[s] === cause ? this.there.b[s] : this.there.a[s];
      after[1 + other] += works * beliefs[s];
    }
    const sum = total(after);
    return after.map((one) => one / sum);
  }

  chances(beliefs) {
    const out = new Float64Array(this.keys.length);
    for (let s = 1; s < beliefs.length; s++) {
      out[this.there.a[s]] += beliefs[s];
      if (this.there.b[s] >= 0) out[this.there.b[s]] += beliefs[s];
    }
    return out;
  }

  get stopped() {
    return this.seen.some((one) => one.stops) || this.steps.some(({ said, test, word }) => said === "shown" && this.sums.tests[test]?.answers.some((one) => one.stops && one.word === word));
  }

  get mayPower() {
    const looked = this.steps.some(({ test, said }) => test === this.sums.battery && said === "good");
    return !this.stopped && (looked || !this.seen.some((one) => one.packFirst));
  }

  get open() {
    const done = new Set(this.steps.map((one) => one.test));
    const lacking = new Set(this.steps.flatMap(({ said, test }) => (said === "cannot-do" ? this.sums.tests[test]?.tools ?? [] : [])));
    return this.tests.map(([key]) => key).filter((key) => {
      const test = this.sums.tests[key];
      return !done.has(key) && !test.tools.some((tool) => lacking.has(tool)) && (this.mayPower || !test.powered) && !(this.stopped && test.warm);
    });
  }

  get opened() {
    const done = new Set(this.steps.filter(({ said }) => said !== "cannot-tell" && said !== "cannot-do").map((one) => one.test));
    return new Set(this.tests.filter(([key]) => done.has(key)).flatMap(([, , ways]) => ways.map(([way]) => way)));
  }

  minutes(key) {
    const [, minutes, ways] = this.tests.find(([one]) => one === key), opened = this.opened;
    return ways.reduce((sum, [way, more]) => sum + (opened.has(way) ? 0 : more), minutes);
  }

  get tried() { return new Set(this.steps.map((one) => one.cause).filter(Boolean)); }

  // The test to do now, or "".
  get next() {
    const open = this.open, first = this.seen.flatMap((one) => one.first).find((key) => open.includes(key));
    if (first) return first;
    const chances = this.chances(this.now), tried = this.tried;
    if (this.keys.some((key, c) => chances[c] >= this.sums.sure && !tried.has(key))) return "";
    return this.chosen.test || this.stillTelling(chances, tried, open);
  }

  get chosen() { return new Search(this).best(this.open, this.opened); }

  stillTelling(chances, tried, open) {
    const left = this.keys.map((key, c) => (tried.has(key) ? 0 : chances[c]));
    if (Math.max(0, ...left) >= this.sums.mendFrom) return "";
    let best = "", most = 0;
    for (const key of open) {
      const shows = total(this.sums.tests[key].answers.flatMap((one) => Object.entries(one.links).map(([cause, chance]) => (this.number.has(cause) ? left[this.number.get(cause)] * chance : 0))));
      const worth = shows / this.minutes(key);
      if (shows >= this.sums.leastShown && worth > most) { best = key; most = worth; }
    }
    return best;
  }

  // What to mend now, or "" when nothing in the list is likely.
  get proposed() {
    const chances = this.chances(this.now), tried = this.tried;
    const left = this.keys.map((key, c) => (tried.has(key) ? -1 : chances[c])), most = Math.max(0, ...left);
    if (most < this.sums.possible && this.now[0] > most) return "";
    let best = "", worth = -1;
    this.keys.forEach((key, c) => {
      if (left[c] >= 0.5 * most && left[c] >= 0 && left[c] / this.vain[c] > worth) { best = key; worth = left[c] / this.vain[c]; }
    });
    return best;
  }
}

// The choice of a test, on the likeliest states.
class Search {
  constructor(hunt) {
    const order = Array.from(hunt.now.keys()).sort((x, y) => hunt.now[y] - hunt.now[x] || x - y).slice(0, KEPT_STATES).sort((x, y) => x - y);
    const sum = total(order.map((s) => hunt.now[s]));
    this.hunt = hunt;
    this.a = Int16Array.from(order, (s) => hunt.there.a[s]);
    this.b = Int16Array.from(order, (s) => hunt.there.b[s]);
    this.beliefs = Float64Array.from(order, (s) => hunt.now[s] / sum);
    this.singles = this.a[0] < 0 ? 1 : 0;
    this.pairs = this.b.findIndex((c) => c >= 0);
    if (this.pairs < 0) this.pairs = order.length;
    this.rows = hunt.tests.map(([key]) => hunt.answers(key).map((row) => Float64Array.from(order, (s) => row[s])));
    this.used = new Set([...this.a, ...this.b].filter((c, n) => c >= 0 && this.beliefs[n % order.length] > 0)).size;
    this.chance = new Float64Array(hunt.keys.length);
    this.order = Int16Array.from(hunt.keys.keys());
    this.worth = new Float64Array(hunt.keys.length);
  }

  // Minutes of mending by guess, in falling chance per minute. Beliefs may be unnormalised. `bound` is then what no
  // further test can make less: each cause mended at once.
  mend(beliefs, row) {
    const { a, b, chance, order, worth } = this, vain = this.hunt.vain, count = chance.length, givenUp = this.hunt.sums.givenUp;
    const { singles, pairs } = this, length = beliefs.length;
    let none = 0;
    chance.fill(0);
    for (let s = 0; s < singles; s++) none += row ? beliefs[s] * row[s] : beliefs[s];
    for (let s = singles; s < pairs; s++) chance[a[s]] += row ? beliefs[s] * row[s] : beliefs[s];
    for (let s = pairs; s < length; s++) {
      const weight = 0.5 * (row ? beliefs[s] * row[s] : beliefs[s]);
      chance[a[s]] += weight;
      chance[b[s]] += weight;
    }
    for (let c = 0; c < count; c++) worth[c] = chance[c] / vain[c];
    for (let i = 1; i < count; i++) {
      const c = order[i], w = worth[c];
      let j = i - 1;
      while (j >= 0 && worth[order[j]] < w) { order[j + 1] = order[j]; j--; }
      order[j + 1] = c;
    }
    let soFar = 0, minutes = 0, least = 0;
    for (let i = 0; i < count; i++) {
      const c = order[i], share = chance[c];
      if (share <= 0) break;
      soFar += vain[c];
      minutes += share * soFar;
      least += share * vain[c];
    }
    this.bound = least + none * givenUp;
    return minutes + none * givenUp;
  }

  costs(opened) {
    return this.hunt.tests.map(([, minutes, ways]) => {
      for (const [way, more] of ways) if (!opened.has(way)) minutes += more;
      return minutes;
    });
  }

  // Minutes when a test is done and then mended by guess.
  tested(beliefs, mass, test, cost) {
    let sum = mass * cost;
    for (const row of this.rows[test]) sum += this.mend(beliefs, row);
    return sum;
  }

  // The fewest minutes with one test more or none. A test is left off as soon as it cannot be the best: what its other
  // answers take is at least their share of the bound.
  oneMore(beliefs, mass, tests, costs) {
    let least = this.mend(beliefs);
    const bound = this.bound;
    for (const test of tests) {
      let sum = mass * costs[test] + bound;
      for (const row of this.rows[test]) {
        if (sum >= least) break;
        sum += this.mend(beliefs, row) - this.bound;
      }
      if (sum < least) least = sum;
    }
    return least;
  }

  best(open, opened) {
    const numbers = this.hunt.tests.map(([key], n) => (open.includes(key) ? n : -1)).filter((n) => n >= 0);
    const now = this.mend(this.beliefs);
    if (!numbers.length) return { test: "", minutes: now };
    const size = total(numbers.map((n) => this.rows[n].length)) * this.beliefs.length * this.used;
    const [minutes, test] = this.value(this.beliefs, numbers, opened, size <= WORK ? 3 : 2);
    return { test: test < 0 ? "" : this.hunt.tests[test][0], minutes };
  }

  value(beliefs, open, opened, depth) {
    const mass = total(beliefs), now = this.mend(beliefs), bound = this.bound, costs = this.costs(opened);
    const one = open.map((test) => this.tested(beliefs, mass, test, costs[test]));
    const promising = open.map((_, n) => n).sort((x, y) => one[x] - one[y] || x - y);
    const ordered = promising.map((n) => open[n]);
    let least = now - 1e-9 * mass, first = -1;
    for (const n of promising.slice(0, BEAM[depth])) {
      const test = open[n], begin = mass * costs[test] + bound;
      const sum = depth === 1 ? one[n] : this.further(beliefs, begin, test, ordered, opened, depth, least);
      if (sum < least - TIE) { least = sum; first = test; }
    }
    return [first < 0 ? now : least, first];
  }

  // Minutes with this test first and the best after each of its answers; less exactly where it is not the least.
  further(beliefs, begin, test, open, opened, depth, least) {
    const left = open.filter((one) => one !== test), after = new Set([...opened, ...this.hunt.tests[test][2].map(([way]) => way)]);
    const costs = this.costs(after);
    let sum = begin;
    for (const row of this.rows[test]) {
      if (sum >= least) break;
      const weights = beliefs.map((one, s) => one * row[s]), part = total(weights), guessed = this.mend(weights), bound = this.bound;
      const best = depth === 2 ? this.oneMore(weights, part, left, costs) : part < LIGHT ? guessed : this.value(weights, left.slice().sort((x, y) => x - y), after, depth - 1)[0];
      sum += best - bound;
    }
    return sum;
  }
}
