// The hunt on the page. Each tap is a note; a hunt is told by its taps, and undo is a tap too.
const tables = JSON.parse(byId("hunt-tables").textContent);
const text = (n) => tables.texts[n];
const make = (tag, words = "", more = {}) => Object.assign(document.createElement(tag), { textContent: words }, more);
const ASIDE = { "cannot-tell": "can’t tell", "cannot-do": "can’t do here" }, VAIN = { "not-it": "looked: it isn’t this", same: "fixed, still the same" };
const ENDS = { fixed: "Fixed, it runs again", replaced: "Part replaced, it runs again", left: "It is this, not fixed yet", temporary: "Fixed only to get home" };
const capital = (words) => words.slice(0, 1).toUpperCase() + words.slice(1);
const percent = (chance) => `${Math.round(100 * chance)} %`;
const carNow = () => tables.cars.find((one) => one.name === byId("h-car").value);

// The last hunt of a car: its symptoms, the steps that count, how it ended.
function huntOf(car) {
  const begun = notes.findLast((one) => one.tap?.said === "begin" && one.tap.car === car.name);
  if (!begun) return null;
  const mark = begun.tap.hunt, taps = notes.filter((one) => one.tap?.hunt === mark).map((one) => one.tap), counted = [];
  for (const one of taps.slice(1)) if (one.said === "undo") counted.pop(); else counted.push(one);
  const last = counted.at(-1), ended = last && (last.said === "give-up" || last.said in ENDS) ? last : null;
  return { mark, taps: taps.length, ended, symptoms: begun.tap.symptoms, steps: ended ? counted.slice(0, -1) : counted };
}

function tap(said, more = {}) {
  const car = carNow(), hunt = said === "begin" ? { mark: new Date().toISOString().replace(/\D/g, "").slice(2, 17), taps: 0 } : huntOf(car);
  const about = said === "begin" ? car.name : more.test || more.cause || "";
  const words = said === "begin" ? more.symptoms.join("; ") : more.word || more.at || "";
  notes.push({
    tap: { hunt: hunt.mark, said, car: car.name, ...more },
    row: row(now(), "hunt", hunt.mark, hunt.taps + 1, said, about, words, said === "begin" ? car.pack : ""),
  });
  keep();
  const head = byId("h-now").querySelector("h3") || byId("hunt");
  head.tabIndex = -1;
  head.focus();
  head.scrollIntoView({ block: "start" });
}

function button(words, means, act, main = false) {
  const made = make("button", words, { type: "button", className: main ? "main" : "" });
  if (means) made.append(make("small", means));
  made.addEventListener("click", act);
  return made;
}

const cautionList = (several, told = []) => {
  const left = several.filter(([, full]) => !told.includes(full));
  if (!left.length) return [];
  const made = make("p", "", { className: "caution" });
  made.append(make("b", "Caution: "), left.map(([short]) => text(short)).join(" "));
  return [made];
};
const list = (tag, items) => { const made = make(tag); made.append(...items.map((one) => make("li", one))); return made; };

function showHunt() {
  const car = carNow(), hunt = car && huntOf(car), where = byId("h-now");
  byId("h-begin").hidden = Boolean(hunt && !hunt.ended);
  where.replaceChildren();
  if (!hunt) return;
  const sums = new Hunt(tables.sums, car, hunt.symptoms, hunt.steps), words = tables.words;
  const out = [make("h3", hunt.symptoms.map((key) => words.symptoms[key].name).join("; "))];
  const said = hunt.symptoms.flatMap((key) => words.symptoms[key].cautions).concat(sums.stopped ? words.stop : []);
  if (sums.stopped) {
    out.push(make("p", "Stop. Battery out, car outdoors. Nothing is plugged in again in this hunt.", { className: "strong" }));
    out.push(list("ul", [...new Set(said.map(([, full]) => text(full)))]));
  } else if (!hunt.steps.length) out.push(...cautionList(said));
  if (hunt.ended) {
    const cause = hunt.ended.cause;
    out.push(make("p", cause ? `Found: ${words.causes[cause].said}. ${ENDS[hunt.ended.said]}.` : "Given up. Its answers come home all the same.", { className: "strong" }));
    if (hunt.ended.said === "temporary") out.push(make("p", "It stands as “not fixed yet” until you fix it properly. Drive gently."));
    else if (cause) out.push(make("p", text(car.mendings[cause].after)));
    where.replaceChildren(...out, acts(button("Undo", "", () => tap("undo"))));
    return;
  }
  const test = sums.next, cause = test ? "" : sums.proposed;
  if (test) out.push(...testCard(car, sums, test, sums.stopped ? said.map(([, full]) => full) : []));
  else if (cause) out.push(...mendCard(car, sums, cause));
  else out.push(make("h3", "Not in the list"), make("p", "None of the causes known here fits what you found. Carry it home, and ask somebody who repairs such cars. Undo an answer if one was doubtful."));
  where.replaceChildren(...out, ...likeliest(car, sums), acts(...(hunt.steps.length ? [button("Undo the last answer", "", () => tap("undo"))] : []), button("Give up this hunt", "", () => tap("give-up"))));
}

function acts(...several) { const made = make("div", "", { className: "acts" }); made.append(...several); return made; }

function testCard(car, sums, test, told) {
  const words = tables.words.tests[test], card = car.cards[test], known = tables.sums.tests[test];
  const seconds = 60 * sums.minutes(test);
  const about = seconds < 90 ? `${Math.max(10, Math.round(seconds / 10) * 10)} s` : `${Math.round(seconds / 60)} min`;
  const out = [make("h3", words.name), make("p", [capital(text(card.where)), `about ${about}`, known.tools.join(", ")].filter(Boolean).join(" · "), { className: "under" })];
  if (card.opens.length) out.push(make("p", `First: ${card.opens.map(text).join(", ")}.`));
  out.push(...cautionList(card.cautions, told), ...card.steps.map((one) => make("p", text(one))));
  const big = make("div", "", { className: "answers" });
  big.append(button(words.good, "", () => tap("good", { test })));
  for (const n of card.answers) big.append(button(known.answers[n].word, words.means[n], () => tap("shown", { test, word: known.answers[n].word })));
  out.push(big);
  if (!known.untilGood) out.push(acts(...Object.entries(ASIDE).map(([said, label]) => button(capital(label), "", () => tap(said, { test })))));
  return out;
}

function mendCard(car, sums, cause) {
  const mending = car.mendings[cause], chance = sums.chances(sums.now)[sums.number.get(cause)] ?? 0;
  const how = tables.words.howSure.find(([least]) => chance >= least)[1];
  const out = [make("h3", `${how}: ${tables.words.causes[cause].said}`), make("p", text(mending.mend)), make("p", text(mending.after), { className: "strong" }), ...cautionList(mending.cautions)];
  const facts = [["With", mending.tools.map(text).join("; ")], ["How tight", text(mending.how_tight)], ["Thread-lock", text(mending.thread_lock)], ["Part, if it is worn", mending.parts.map(text).join("; ")]];
  for (const [label, value] of facts) if (value) { const line = make("p"); line.append(make("b", `${label}: `), value); out.push(line); }
  if (mending.steps.length) { const fold = make("details"); fold.append(make("summary", `How: ${text(mending.check_name)}`), list("ol", mending.steps.map(text))); out.push(fold); }
  if (text(mending.temporary)) { const line = make("p"); line.append(make("b", "Only to get home: "), text(mending.temporary)); out.push(line); }
  let at = null;
  if (mending.at.length) {
    const label = make("label", "Where?");
    at = make("select");
    at.append(make("option", "I don’t know", { value: "" }), ...mending.at.map((one) => make("option", text(one))));
    label.append(at);
    out.push(label);
  }
  const big = make("div", "", { className: "answers" });
  for (const [said, label] of Object.entries(ENDS)) if (said !== "temporary" || text(mending.temporary)) big.append(button(label, "", () => tap(said, { cause, at: at?.value || "" })));
  for (const [said, label] of Object.entries(VAIN)) big.append(button(capital(label), "", () => tap(said, { cause })));
  out.push(big);
  return out;
}

function likeliest(car, sums) {
  const words = tables.words, now = sums.chances(sums.now), before = sums.chances(sums.before);
  const rows = [...sums.keys.map((key, c) => [words.causes[key].name, now[c]]), [words.none, sums.now[0]]].sort((x, y) => y[1] - x[1]);
  const bars = make("ol", "", { className: "plain" });
  for (const [name, chance] of rows.slice(0, words.mostLikely)) {
    const item = make("li", `${name} `), bar = make("progress", "", { max: 1, value: chance });
    bar.setAttribute("aria-hidden", "true");
    item.append(make("span", `${words.likely.find(([least]) => chance >= least)[1]}, ${percent(chance)}`, { className: "under" }), bar);
    bars.append(item);
  }
  const out = [make("h3", "Likeliest now"), make("p", "Two things can be wrong at once, so these may add up to more than 100 %.", { className: "small" }), bars];
  const gone = sums.keys.map((key, c) => [key, before[c], now[c]]).filter(([, then, left]) => then >= words.wasPossible && left < words.ruledOut).sort((x, y) => y[1] - x[1]);
  if (gone.length) out.push(make("p", `Ruled out: ${gone.map(([key]) => words.causes[key].name).join(", ")}.`, { className: "small" }));
  if (sums.steps.length) {
    const fold = make("details");
    fold.append(make("summary", sums.steps.length === 1 ? "1 answer so far" : `${sums.steps.length} answers so far`), list("ol", sums.steps.map((one) => {
      const asked = one.test ? words.tests[one.test].name : words.causes[one.cause].name;
      return `${asked}: ${one.said === "good" ? words.tests[one.test].good : one.word || ASIDE[one.said] || VAIN[one.said]}`;
    })));
    out.push(fold);
  }
  return out;
}

byId("h-car").addEventListener("change", showHunt);
byId("h-start").addEventListener("click", () => {
  const ticked = [...document.querySelectorAll("[name=h-does]:checked")];
  byId("h-told").textContent = ticked.length ? "" : "Choose at least one.";
  if (!ticked.length) return;
  const symptoms = ticked.map((one) => one.value);
  for (const one of ticked) one.checked = false;
  tap("begin", { symptoms });
});
