// Lets the map be dragged, wheeled, pinched and moved by keys. The server draws every view; this only asks for the next
// one and puts it in place. Without this script the links under the map do the same.

const NEAREST = 13;
const FARTHEST = 1;
const STEP = 0.4;

function live(frame) {
  if ("live" in frame.dataset) return;
  frame.dataset.live = "";
  frame.tabIndex = 0;
  frame.setAttribute("role", "group");
  let asked = 0;

  const sheet = () => frame.querySelector(".sheet");
  const svg = () => frame.querySelector("svg.map");
  const drawn = () => frame.querySelector(".drawn");
  const size = () => svg().viewBox.baseVal;
  const told = () => {
    const { lat, lon, zoom } = sheet().dataset;
    return { lat: Number(lat), lon: Number(lon), zoom: Number(zoom) };
  };
  // The view asked for last: steps that follow each other quickly add up, also before the answer is there.
  let view = told();
  // How many units of the drawing one pixel of the screen is.
  const unit = () => size().width / svg().getBoundingClientRect().width;

  async function show({ lat, lon, zoom }) {
    const mine = ++asked;
    view = { lat, lon, zoom };
    const width = Math.min(Math.max(Math.round(frame.clientWidth), 280), 1000);
    const height = Math.round(width * (width < 480 ? 1 : 0.72));
    const query = new URLSearchParams({ lat, lon, zoom, width, height, part: "sheet" });
    const chosen = new URLSearchParams(location.search).get("place");
    if (chosen) query.set("place", chosen);
    const answer = await fetch(`/places/map?${query}`, { credentials: "same-origin" });
    if (!answer.ok || mine !== asked) return;
    const next = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector(".sheet");
    const key = document.activeElement?.dataset?.key;
    sheet().replaceWith(next);
    view = told();
    if (key) [...frame.querySelectorAll("[data-key]")].find((a) => a.dataset.key === key)?.focus();
  }

  // Mercator's map, as the server reckons it (units of the drawing).
  const world = (zoom) => 256 * 2 ** zoom;
  const north = (lat) => Math.log(Math.tan(Math.PI / 4 + (lat * Math.PI) / 360));
  function moved({ lat, lon, zoom }, right, down) {
    const y = north(lat) - (down / world(zoom)) * 2 * Math.PI;
    const there = ((2 * Math.atan(Math.exp(y)) - Math.PI / 2) * 180) / Math.PI;
    const east = lon + (right / world(zoom)) * 360;
    return { lat: Math.min(Math.max(there, -85), 85), lon: ((((east + 180) % 360) + 360) % 360) - 180, zoom };
  }
  // Zooms so that the place under the finger stays there.
  function zoomed(from, by, x, y) {
    const zoom = Math.min(Math.max(from.zoom + by, FARTHEST), NEAREST);
    const share = 1 - 2 ** (from.zoom - zoom);
    return { ...moved(from, (x - size().width / 2) * share, (y - size().height / 2) * share), zoom };
  }

  // One step of the links under the map, or of a key.
  function take(key) {
    const { width, height } = size();
    const steps = {
      ArrowLeft: () => moved(view, -STEP * width, 0),
      ArrowRight: () => moved(view, STEP * width, 0),
      ArrowUp: () => moved(view, 0, -STEP * height),
      ArrowDown: () => moved(view, 0, STEP * height),
      "+": () => zoomed(view, 1, width / 2, height / 2),
      "-": () => zoomed(view, -1, width / 2, height / 2),
    };
    if (!(key in steps)) return false;
    show(steps[key]());
    return true;
  }

  const fingers = new Map();
  let start = null;
  const middle = () => {
    const all = [...fingers.values()];
    const x = all.reduce((sum, p) => sum + p.x, 0) / all.length;
    const y = all.reduce((sum, p) => sum + p.y, 0) / all.length;
    const apart = all.length > 1 ? Math.hypot(all[0].x - all[1].x, all[0].y - all[1].y) : 0;
    return { x, y, apart };
  };
  const gesture = () => {
    const now = middle();
    const scale = start.apart && now.apart ? now.apart / start.apart : 1;
    return { ...now, scale };
  };
  function place(event) {
    const box = svg().getBoundingClientRect();
    return { x: (event.clientX - box.left) * unit(), y: (event.clientY - box.top) * unit() };
  }
  frame.addEventListener("pointerdown", (event) => {
    if (!event.target.closest("svg.map") || event.button) return;
    fingers.set(event.pointerId, place(event));
    start = { ...middle(), moved: false };
  });
  frame.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId)) return;
    fingers.set(event.pointerId, place(event));
    const { x, y, scale } = gesture();
    if (!start.moved && Math.hypot(x - start.x, y - start.y) < 5 && scale === 1) return;
    if (!start.moved) {
      start.moved = true;
      frame.dataset.dragging = "";
      svg().setPointerCapture?.(event.pointerId);
    }
    const dx = x - start.x * scale;
    const dy = y - start.y * scale;
    drawn().setAttribute("transform", `matrix(${scale} 0 0 ${scale} ${dx} ${dy})`);
  });
  const end = (event) => {
    if (!fingers.has(event.pointerId)) return;
    const { x, y, scale } = gesture();
    const was = start;
    fingers.clear();
    delete frame.dataset.dragging;
    if (!was.moved) return;
    const nearer = zoomed(view, Math.log2(scale), was.x, was.y);
    show(moved(nearer, was.x - x, was.y - y));
  };
  frame.addEventListener("pointerup", end);
  frame.addEventListener("pointercancel", end);
  // A drag that ends on a mark is no click on it.
  frame.addEventListener("click", (event) => {
    if (start?.moved && event.target.closest("a.mark")) event.preventDefault();
    const step = event.target.closest("a[data-key]");
    if (step) {
      event.preventDefault();
      take(step.dataset.key);
    }
  }, true);
  frame.addEventListener("dragstart", (event) => event.preventDefault());

  let turned = 0;
  frame.addEventListener("wheel", (event) => {
    if (!event.target.closest("svg.map")) return;
    event.preventDefault();
    turned += event.deltaY * (event.deltaMode === 1 ? 30 : 1);
    if (Math.abs(turned) < 60) return;
    const { x, y } = place(event);
    show(zoomed(view, turned < 0 ? 1 : -1, x, y));
    turned = 0;
  }, { passive: false });

  frame.addEventListener("keydown", (event) => {
    if (event.target !== frame || event.ctrlKey || event.metaKey || event.altKey) return;
    const key = event.key === "=" ? "+" : event.key;
    if (take(key)) event.preventDefault();
  });

  show(view);
}

function wake() {
  document.querySelectorAll("figure[data-map]").forEach(live);
}

wake();
document.addEventListener("trug:shown", wake);
