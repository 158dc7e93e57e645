// The left and right arrow keys go to the photo before and after: the links with rel=prev and rel=next. Not while somebody types.
const TYPED = "input, select, textarea, [contenteditable]";

addEventListener("keydown", (event) => {
  if (event.defaultPrevented || event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
  if (event.target.closest?.(TYPED)) return;
  const rel = { ArrowLeft: "prev", ArrowRight: "next" }[event.key];
  const link = rel && document.querySelector(`main a[rel="${rel}"]`);
  if (!link) return;
  event.preventDefault();
  link.click();
});
