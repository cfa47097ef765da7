// Draws the view that callout sends and sends back what is touched.
// Rule of this file: every word goes in as text, never as markup; nothing is decided here.
// A touch names what the page showed when it was touched, so that it cannot answer what
// was asked since.

import { button, hold } from "/press.js";
import { Phone } from "/sound.js";

const $ = (id) => document.getElementById(id);
const SILENT = 2500; // ms without a view, after which the page is looking at the past
const PRESSED = 1200; // ms in which one press is one press
const COVERED = 20000; // ms without a touch, after which a phone with sound is covered

let view = null;
let came = 0;
let socket = null;
let sent = -Infinity;
let touched = performance.now();

function connect() {
  socket = new WebSocket(`wss://${location.host}/session`);
  let opened = false;
  socket.onopen = () => (opened = true);
  socket.onmessage = (event) => take(JSON.parse(event.data));
  socket.onclose = async () => {
    contact(false);
    if (!opened) {
      const page = await fetch("/").catch(() => null);
      if (page && page.redirected) location.replace("/pair");
    }
    setTimeout(connect, 300);
  };
}

function take(found) {
  if ("shown" in found) {
    const first = view === null || String(view.shown) !== String(found.shown);
    view = found;
    came = performance.now();
    if (first) sent = -Infinity;
    contact(true);
    draw();
  } else if ("code" in found) {
    showCode(found);
  } else if ("sound" in found) {
    $("sound").hidden = !found.sound;
  }
}

function contact(there) {
  document.body.classList.toggle("old", !there);
  text("contact", there ? lost() : "Out of contact: what you see is old");
}

const lost = () => (view.lost.length ? `Not working: ${view.lost.join(", ")}` : "In contact");

export function say(words) {
  if (!view || socket.readyState !== WebSocket.OPEN || performance.now() - sent < PRESSED) return;
  sent = performance.now();
  socket.send(JSON.stringify({ say: words, shown: view.shown }));
}

function text(id, words) {
  const place = $(id);
  if (place.textContent !== words) place.textContent = words;
}

// Rebuilds a part only when what it is made of has changed, so that a finger that is
// down on a button stays on it.
const made = new Map();
function part(id, from, build) {
  const key = JSON.stringify(from);
  if (made.get(id) === key) return;
  made.set(id, key);
  const focused = document.activeElement && document.activeElement.dataset.say;
  const inside = $(id).contains(document.activeElement);
  $(id).replaceChildren(...build());
  if (inside && focused) {
    const again = [...$(id).querySelectorAll("button")].find((b) => b.dataset.say === focused);
    if (again) again.focus();
  }
}

function draw() {
  const v = view;
  document.documentElement.dataset.role = v.role;
  text("list", v.title || (v.ended ? "Session over" : "Between lists"));
  text("place", v.place);
  text("item", v.item || headline(v));
  $("item").classList.toggle("long", $("item").textContent.length > 32);
  text("mark", mark(v));
  text("answer", v.item && v.answer && !v.answer.startsWith("nothing") ? `Answer: ${v.answer}` : "");
  const asked = ["confirming", "reasoning", "confirming override", "reviewing", "holding"];
  text("prompt", v.item && asked.includes(v.mode) ? v.prompt : "");
  text("ahead", v.ahead.join(" · ") || "nothing");
  text("open", openWords(v));
  text("heard", v.heard ? (v.understood ? v.heard : `${v.heard}, not understood`) : "nothing yet");
  text("said", v.said);
  text("notice", v.notice);
  text("file", `${v.aircraft}, revision ${v.revision}. The aircraft's own handbook rules.`);
  text("curtain-item", v.item);
  const of = (...groups) => v.ways.filter((way) => groups.includes(way.group));
  part("alerts", [v.alerts, of("roger")], () => alerts(v.alerts, of("roger")));
  part("answers", [of("answer"), v.shown], () => buttons(of("answer")));
  part("always", of("always"), () => buttons(of("always")));
  const rest = ["call", "correct", "word", "procedure", "list"];
  part("words", rest.map((group) => of(group)), () => rest.flatMap((g) => group(g, of(g))));
  entry(v.entry);
  $("gauges").hidden = !v.gauges.length;
  part("gauges", v.gauges, () => v.gauges.map(gauge));
  const pilot = v.role === "pilot";
  $("invite-helper").hidden = $("invite-pilot").hidden = !pilot;
  times();
}

function headline(v) {
  if (v.ended) return "Session over";
  if (v.role === "helper") return "Nothing for the helper now";
  return v.prompt || "callout";
}

function mark(v) {
  const marks = [];
  if (v.item && v.who === "helper") marks.push("Helper's item");
  if (v.killer) marks.push("Killer item: its full answer, nothing else");
  if (["standing by", "holding"].includes(v.mode)) marks.push(`The list is ${v.mode}`);
  return marks.join(". ");
}

function openWords(v) {
  const left = v.title ? `${v.left} to do` : "";
  return [...v.open_ones, left].filter(Boolean).join(" · ") || "nothing";
}

const buttons = (ways) => ways.map((way) => button(way.text, way.held, say));

function alerts(standing, roger) {
  const blocks = standing.map((one) => {
    const block = document.createElement("p");
    block.className = one.grave ? "warning" : "caution";
    const word = one.grave ? "Warning" : "Caution";
    const lead = one.text.startsWith(word) ? "" : `${word}: `;
    block.textContent = `${lead}${one.text}${one.answered ? " (answered)" : ""}`;
    return block;
  });
  return [...blocks, ...buttons(roger.slice(0, 1))];
}

const GROUPS = {
  call: "Call",
  correct: "Correct the last answer",
  word: "Words",
  procedure: "Procedures",
  list: "Lists",
};

function group(name, ways) {
  if (!ways.length) return [];
  const box = document.createElement("div");
  const title = document.createElement("h2");
  title.textContent = GROUPS[name];
  const row = document.createElement("div");
  row.className = "row";
  row.append(...buttons(ways));
  box.append(title, row);
  return [box];
}

function entry(wanted) {
  $("entry").hidden = !wanted;
  if (!wanted) return;
  const unit = wanted.unit ? ` in ${wanted.unit}` : "";
  text("number-name", `${wanted.name}${unit}`);
  if (made.get("entry") !== String(view.shown)) {
    made.set("entry", String(view.shown));
    $("number").value = "";
  }
  const keys = ["1", "2", "3", "4", "5", "6", "7", "8", "9"];
  keys.push(wanted.decimals ? "." : "", "0", "⌫");
  if (Number(wanted.lowest) < 0) keys.push("-");
  part("pad", keys, () => keys.filter(Boolean).map(pad));
}

function pad(key) {
  const one = document.createElement("button");
  one.type = "button";
  one.textContent = key;
  if (key === "⌫") one.setAttribute("aria-label", "take the last figure back");
  if (key === "-") one.setAttribute("aria-label", "minus");
  one.addEventListener("click", () => {
    const field = $("number");
    field.value = key === "⌫" ? field.value.slice(0, -1) : field.value + key;
  });
  return one;
}

function gauge(g) {
  const row = document.createElement("div");
  row.className = `gauge ${g.level}`;
  const name = document.createElement("span");
  name.className = "name";
  name.textContent = g.level ? `${g.name} (${g.level})` : g.name;
  const value = document.createElement("span");
  value.className = "value";
  value.textContent = g.text ? `${g.text} ${g.unit}` : g.trusted ? "not read" : "not to be trusted";
  const rule = document.createElement("div");
  rule.className = "rule";
  if (g.wanted) rule.append(spot("wanted", g.wanted[0], g.wanted[1] - g.wanted[0]));
  for (const [at] of g.cautions) rule.append(spot("limit", at));
  for (const [at] of g.nevers) rule.append(spot("limit never", at));
  if (g.at !== null) rule.append(spot("hand", g.at));
  row.append(name, value, rule);
  const limits = [["caution", g.cautions], ["never", g.nevers]]
    .filter(([, found]) => found.length)
    .map(([word, found]) => `${word} ${found.map(([, figure]) => figure).join(", ")}`);
  if (limits.length) {
    const figures = document.createElement("span");
    figures.className = "figures";
    figures.textContent = limits.join(" · ");
    row.append(figures);
  }
  return row;
}

function spot(kind, at, width) {
  const one = document.createElement("span");
  one.className = kind;
  one.style.setProperty("left", `${at * 100}%`);
  if (width !== undefined) one.style.setProperty("width", `${width * 100}%`);
  return one;
}

function times() {
  if (!view) return;
  const passed = (performance.now() - came) / 1000;
  $("running").hidden = !view.timing.length;
  part("running", view.timing.map((one) => one.name), () =>
    view.timing.map((one) => {
      const box = document.createElement("div");
      const name = document.createElement("p");
      name.textContent = one.name;
      const left = document.createElement("p");
      left.className = "left";
      left.setAttribute("role", "timer");
      const bar = document.createElement("div");
      bar.className = "bar";
      bar.append(document.createElement("div"));
      box.append(name, left, bar);
      return box;
    }),
  );
  view.timing.forEach((one, index) => {
    const box = $("running").children[index];
    const left = Math.max(0, one.left - passed);
    const whole = Math.ceil(left);
    const words = `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
    const place = box.querySelector(".left");
    if (place.textContent !== words) place.textContent = words;
    const share = one.of ? Math.min(1, left / one.of) : 0;
    box.querySelector(".bar div").style.setProperty("width", `${share * 100}%`);
  });
}

function showCode(found) {
  const whose = found.role === "helper" ? "the helper's screen" : "another screen of the pilot";
  text("code-name", `Code for ${whose}`);
  $("code-picture").src = found.code;
  if (!$("code").open) $("code").showModal();
}

function theme(name) {
  document.documentElement.dataset.theme = name;
  text("theme", name === "day" ? "Night" : "Day");
  localStorage.setItem("theme", name);
}

// What is typed outside a field goes into the phrase: nothing happens before Enter.
addEventListener("keydown", (event) => {
  touched = performance.now();
  const field = ["INPUT", "BUTTON", "SUMMARY"].includes(event.target.tagName);
  if (field || event.ctrlKey || event.altKey || event.metaKey || event.key.length !== 1) return;
  if ($("curtain").open || $("code").open) return;
  $("more").open = true;
  $("phrase").focus();
});
addEventListener("pointerdown", () => (touched = performance.now()), true);

$("typed").addEventListener("submit", (event) => {
  event.preventDefault();
  const words = $("phrase").value.trim();
  if (words) say(words);
  $("phrase").value = "";
});
$("entry").addEventListener("submit", (event) => {
  event.preventDefault();
  const number = $("number").value.trim();
  if (number) say(number);
});
$("theme").addEventListener("click", () =>
  theme(document.documentElement.dataset.theme === "day" ? "night" : "day"),
);
for (const role of ["helper", "pilot"]) {
  $(`invite-${role}`).addEventListener("click", () => {
    socket.send(JSON.stringify({ invite: role }));
  });
}
$("code-close").addEventListener("click", () => $("code").close());
const cover = () => $("curtain").open || $("curtain").showModal();
$("cover").addEventListener("click", cover);
$("curtain").addEventListener("cancel", (event) => event.preventDefault());
hold($("uncover"), () => $("curtain").close());

const phone = new Phone((words) => text("sound", words));
$("sound").addEventListener("click", () => phone.toggle());

setInterval(() => {
  if (view && performance.now() - came > SILENT) contact(false);
  if (phone.on && performance.now() - touched > COVERED) cover();
  times();
}, 100);

const dark = matchMedia("(prefers-color-scheme: dark)").matches;
theme(localStorage.getItem("theme") || (dark ? "night" : "day"));
connect();
