// Makes the pages quicker: a form marked data-swap is sent without a reload, and the answer takes the place of
// what is in <main>. Without this script every form works as forms do.

const main = () => document.getElementById("main");

async function send(form, button) {
  const body = new FormData(form, button);
  const plain = [...body.values()].every((value) => typeof value === "string");
  // A field may be called "action" or "method" and hide the form's own property.
  const answer = await fetch(form.getAttribute("action"), {
    method: "POST",
    body: plain ? new URLSearchParams(body) : body,
    headers: { "X-Trug-Swap": "1" },
    credentials: "same-origin",
  });
  const text = await answer.text();
  const whole = answer.headers.get("content-type")?.startsWith("text/html");
  if (!answer.ok && !whole) {
    tell(form, text);
    return;
  }
  show(text, answer.ok ? answer.url : "", form.dataset.focus);
}

function tell(form, text) {
  form.querySelector(":scope > .problem")?.remove();
  const p = document.createElement("p");
  p.className = "problem";
  p.setAttribute("role", "alert");
  p.textContent = text;
  form.prepend(p);
  p.scrollIntoView({ block: "nearest" });
}

function show(html, url, focus) {
  const next = new DOMParser().parseFromString(html, "text/html");
  const open = [...main().querySelectorAll("details[open][id]")].map((d) => d.id);
  main().replaceChildren(...next.getElementById("main").childNodes);
  document.title = next.title;
  for (const id of open) document.getElementById(id)?.setAttribute("open", "");
  if (url && url !== location.href) history.replaceState(null, "", url);
  const said = document.getElementById("said");
  const target = (focus && document.getElementById(focus)) || main();
  // What is said stands where the reader goes on, or the page goes up to it.
  target.focus({ preventScroll: true });
  if (target !== main()) {
    target.after(said);
    target.scrollIntoView();
  } else if (said.children.length) said.scrollIntoView({ block: "nearest" });
  document.dispatchEvent(new CustomEvent("trug:shown"));
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!(form instanceof HTMLFormElement) || !("swap" in form.dataset)) return;
  if (form.getAttribute("method") !== "post") return;
  event.preventDefault();
  if (form.getAttribute("aria-busy") === "true") return;
  form.setAttribute("aria-busy", "true");
  send(form, event.submitter)
    .catch(() => tell(form, document.body.dataset.lost))
    .finally(() => form.removeAttribute("aria-busy"));
});
