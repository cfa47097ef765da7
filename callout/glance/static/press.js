// Buttons for gloves: a press says its words; what a brush must not do is held down.
// Rule of this file: a held button works by touch, by mouse and by keyboard alike, and
// by two presses for those who cannot hold. How long it was down is told by the times of
// the events: a page that was busy hears late of them.

export const HOLD = 700; // ms
const TWICE = 5000; // ms in which a second press counts
const ROUND = 20; // ms

export function button(text, held, say) {
  const made = document.createElement("button");
  made.type = "button";
  made.dataset.say = text;
  made.append(span("words", text));
  if (!held) {
    made.addEventListener("click", () => say(text));
    return made;
  }
  made.classList.add("held");
  made.append(span("how", "hold"));
  hold(made, () => say(text));
  return made;
}

export function hold(made, act) {
  let running = 0;
  let began = 0;
  let pressed = -TWICE;
  let done = false;
  const how = made.querySelector(".how");
  const begin = (event) => {
    if (running) return;
    done = false;
    began = event.timeStamp;
    made.classList.add("filling");
    // Once more round: that it was lifted may be waiting to be heard.
    running = setTimeout(() => (running = setTimeout(finish, ROUND)), HOLD);
  };
  const finish = () => {
    done = true;
    end();
    act();
  };
  const end = () => {
    clearTimeout(running);
    running = 0;
    made.classList.remove("filling");
  };
  const lift = (event) => {
    if (running && event.timeStamp - began >= HOLD) finish();
    else end();
  };
  made.addEventListener("pointerdown", (event) => event.button === 0 && begin(event));
  made.addEventListener("pointerup", lift);
  for (const over of ["pointercancel", "pointerleave", "blur"]) made.addEventListener(over, end);
  made.addEventListener("contextmenu", (event) => event.preventDefault());
  const key = (event) => event.key === "Enter" || event.key === " ";
  made.addEventListener("keydown", (event) => {
    if (!key(event)) return;
    event.preventDefault();
    if (!event.repeat) begin(event);
  });
  made.addEventListener("keyup", (event) => {
    if (!key(event) || done) return;
    event.preventDefault();
    lift(event);
    if (!done) twice(event.timeStamp);
  });
  made.addEventListener("click", (event) => {
    if (!done) twice(event.timeStamp);
  });
  function twice(at) {
    const apart = at - pressed;
    pressed = at;
    if (apart > HOLD && apart < TWICE) {
      pressed = -TWICE;
      act();
    } else if (how) {
      how.textContent = "hold, or press again";
    }
  }
}

function span(kind, text) {
  const made = document.createElement("span");
  made.className = kind;
  made.textContent = text;
  return made;
}
