// Takes the token from behind the "#" and asks to be let in with it, once.
// Rule of this file: the token goes to our own server and is gone from the address at once.

const why = document.getElementById("why");
const token = location.hash.slice(1);
history.replaceState(null, "", "/pair");

async function pair() {
  why.textContent = "Asking to be let in.";
  try {
    const answer = await fetch("/pair", {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ token }),
    });
    if (answer.ok) {
      location.replace("/");
      return;
    }
    const said = await answer.text();
    why.textContent = said.startsWith("{") ? JSON.parse(said).why : said;
  } catch {
    why.textContent = "callout cannot be reached. Is this phone in the same network?";
  }
}

addEventListener("hashchange", () => location.reload());
if (token) pair();
