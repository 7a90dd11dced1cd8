/** What scrolls sideways can be reached and scrolled with the keyboard. */
export function scrolls(element: Element): void {
  element.setAttribute('tabindex', '0');
}
