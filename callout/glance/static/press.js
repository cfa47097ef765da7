// Buttons for gloves: a press says its words; what a brush must not do is held down.
// Rule of this file: a held button works by touch, by mouse and by keyboard alike, and
// by two presses for those who cannot hold.

export const HOLD = 700; // ms
const TWICE = 5000; // ms in which a second press counts

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
  let pressed = -TWICE;
  let done = false;
  const how = made.querySelector(".how");
  const begin = () => {
    if (running) return;
    done = false;
    made.classList.add("filling");
    running = setTimeout(() => {
      done = true;
      end();
      act();
    }, HOLD);
  };
  const end = () => {
    clearTimeout(running);
    running = 0;
    made.classList.remove("filling");
  };
  made.addEventListener("pointerdown", (event) => event.button === 0 && begin());
  for (const over of ["pointerup", "pointercancel", "pointerleave", "blur"]) {
    made.addEventListener(over, end);
  }
  made.addEventListener("contextmenu", (event) => event.preventDefault());
  const key = (event) => event.key === "Enter" || event.key === " ";
  made.addEventListener("keydown", (event) => {
    if (!key(event)) return;
    event.preventDefault();
    if (!event.repeat) begin();
  });
  made.addEventListener("keyup", (event) => {
    if (!key(event) || done) return;
    event.preventDefault();
    end();
    twice(event.timeStamp);
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
