/** Light, dark, or as the device is set. */
const WORDS = { '': 'as the device', light: 'light', dark: 'dark' } as const;
type Choice = keyof typeof WORDS;
const ORDER: Choice[] = ['', 'light', 'dark'];

function kept(): Choice {
  try {
    const found = localStorage.getItem('scheme') as Choice;
    return ORDER.includes(found) ? found : '';
  } catch {
    return '';
  }
}

let choice = $state<Choice>(kept());
apply();

export const scheme = {
  get words(): string {
    return WORDS[choice];
  },
};

export function nextScheme(): void {
  choice = ORDER[(ORDER.indexOf(choice) + 1) % ORDER.length];
  apply();
  try {
    localStorage.setItem('scheme', choice);
  } catch {
    /* a private window keeps nothing */
  }
}

function apply(): void {
  if (choice) document.documentElement.dataset.scheme = choice;
  else delete document.documentElement.dataset.scheme;
}
