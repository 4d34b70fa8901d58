// Runs in the page: what `name` means there. With `place`, where to tap it, or why that is not possible.
(name, place) => {
  const seen = (el) => el.getClientRects().length > 0 && el.checkVisibility({ checkVisibilityCSS: true });
  const squeeze = (text) => (text ?? "").replace(/\s+/g, " ").trim();
  const names = (el) => [
    el.getAttribute("aria-label"),
    ...(el.getAttribute("aria-labelledby") ?? "").split(" ").filter(Boolean).map((id) => document.getElementById(id)?.textContent),
    ...[...(el.labels ?? [])].flatMap((label) => [label.querySelector(".label")?.textContent, label.textContent]),
    el.innerText,
    // The first line of a row is what one would call it.
    el.innerText?.split("\n")[0],
    el.querySelector?.("b, strong")?.textContent,
    el.placeholder,
    el.title,
  ].map(squeeze).filter(Boolean);
  const find = () => {
    if (name.startsWith("css:")) {
      const all = [...document.querySelectorAll(name.slice(4))];
      return all.find(seen) ?? all[0];
    }
    const all = [...document.querySelectorAll("a,button,input,select,textarea,summary,label,[role=button],[role=link],[role=checkbox],[tabindex]")].filter(seen);
    return all.find((el) => names(el).includes(name))
      ?? all.find((el) => names(el).some((one) => one.startsWith(name)))
      ?? all.find((el) => names(el).some((one) => one.includes(name)));
  };
  const el = find();
  // A label stands for its field.
  if (!place) return el?.control ?? el;
  if (!el) return { why: "there is no such thing on the screen" };
  if (el.disabled || el.getAttribute("aria-disabled") === "true") return { why: "it is disabled" };
  if (!seen(el)) return { why: "it is not visible" };
  const inView = (box) => box.top >= 0 && box.bottom <= innerHeight;
  const first = el.getBoundingClientRect();
  if (!inView(first)) el.scrollIntoView({ block: "center", behavior: "instant" });
  // A link that breaks over two lines has a hole in the middle of its box.
  const box = el.getClientRects()[0];
  const x = box.left + box.width / 2;
  const y = box.top + box.height / 2;
  const top = document.elementFromPoint(x, y);
  const label = el.closest("label");
  const free = top && (el.contains(top) || top.contains(el) && top === label || label?.contains(top) || el.tagName === "LABEL" && el.contains(top));
  // A person scrolls what a bar at the foot covers; the next try finds it there.
  if (!free) el.scrollIntoView({ block: "center", behavior: "instant" });
  if (!free) return { why: `something lies over it: ${top?.tagName} ${top?.className}` };
  return { x, y };
}
