"""The same person without a mouse or a finger on the glass: everything is reached by Tab and done by keys."""

from playwright.sync_api import Locator, Page

from tests.browser.hand import Hand

MOST_TABS = 600
# How many stops lie between here and there, roughly and rather too few: that many presses needn't be looked at one by one.
STOPS_BETWEEN = """one => {
  const all = [...document.querySelectorAll("a[href], button, input, select, textarea, summary, [tabindex]")];
  const names = new Set();
  const stops = all.filter((at) => {
    if (at === one || at === document.activeElement) return true;
    if (at.disabled || at.tabIndex < 0 || at.type === "hidden" || !at.checkVisibility()) return false;
    if (at.type !== "radio") return true;
    return !names.has(at.name) && names.add(at.name);
  });
  const here = stops.indexOf(document.activeElement);
  return stops.indexOf(one) - here;
}"""
REACHED = "one => one === document.activeElement"
# WCAG 2.2, 2.4.11: what has the focus isn't wholly hidden by something that stays in place.
SEEN = """one => {
  const box = one.getBoundingClientRect();
  const xs = [0.1, 0.5, 0.9].map((share) => box.left + box.width * share);
  const ys = [0.2, 0.5, 0.8].map((share) => box.top + box.height * share);
  const shown = xs.flatMap((x) => ys.map((y) => document.elementFromPoint(x, y)));
  const belongs = (at) => one.contains(at) || at.contains(one) || at.closest("label")?.control === one;
  return box.width < 2 || shown.some((at) => at && belongs(at));
}"""
SAME_GROUP = "one => document.activeElement.type === 'radio' && one.type === 'radio' && document.activeElement.name === one.name"


class KeyboardHand(Hand):
    """What `Hand` does, by keys alone. A control that Tab doesn't come to, or that is hidden while focused, is a fault."""

    def reach(self, target: Locator, arrives: str = REACHED) -> None:
        element = target.element_handle()
        away = element.evaluate(STOPS_BETWEEN)
        key = "Tab" if away > 0 else "Shift+Tab"
        for _ in range(abs(away) - 3):
            self.page.keyboard.press(key)
        for _ in range(MOST_TABS):
            if element.evaluate(arrives):
                break
            self.page.keyboard.press(key)
        else:
            raise AssertionError(f"{key} never comes to {target} on {self.page.url}")
        assert element.evaluate(SEEN), f"{target} is hidden while it has the focus, on {self.page.url}"

    def act(self, target: Locator) -> None:
        self.reach(target)
        target.press("Enter")  # it has the focus; unlike the bare keyboard this waits for the page that Enter leads to
        self.page.wait_for_load_state()

    def unfold(self, fold: Locator) -> None:
        self.reach(fold.locator("summary").first)
        self.page.keyboard.press("Enter")

    def write(self, target: Locator, text: str) -> None:
        self.reach(target)
        self.page.keyboard.press("Control+A")
        self.page.keyboard.press("Delete")
        self.page.keyboard.insert_text(text)

    def pick(self, target: Locator, option: str) -> None:
        """Arrow keys walk through a closed list of choices."""
        self.reach(target)
        names = [text.strip() for text in target.locator("option").all_inner_texts()]
        self.page.keyboard.press("Home")
        for _ in range(names.index(option)):
            self.page.keyboard.press("ArrowDown")

    def check(self, target: Locator) -> None:
        """A box is ticked by Space; of a group of round ones Tab comes to one, and arrow keys go on from there."""
        if target.get_attribute("type") == "radio":
            return self._turn_to(self.page, target)
        if not target.is_checked():
            self.reach(target)
            self.page.keyboard.press("Space")
        return None

    def _turn_to(self, page: Page, target: Locator) -> None:
        self.reach(target, SAME_GROUP)
        page.keyboard.press("Space")
        element = target.element_handle()
        for _ in range(60):
            if element.is_checked():
                return
            page.keyboard.press("ArrowDown")
        raise AssertionError(f"No arrow key comes to {target}")
