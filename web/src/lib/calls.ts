/** Calls out when a clock nears its end and when it is over: a tone and a buzz, each once. */
let sound: AudioContext | null = null;

/** Browsers give sound only after a touch. */
export function allowSound(): void {
  sound ??= new AudioContext();
  void sound.resume();
}

function tone(at_s: number, pitch_hz: number): void {
  if (!sound) return;
  const voice = sound.createOscillator();
  const loudness = sound.createGain();
  voice.frequency.value = pitch_hz;
  loudness.gain.setValueAtTime(0.25, sound.currentTime + at_s);
  loudness.gain.exponentialRampToValueAtTime(0.001, sound.currentTime + at_s + 0.35);
  voice.connect(loudness).connect(sound.destination);
  voice.start(sound.currentTime + at_s);
  voice.stop(sound.currentTime + at_s + 0.4);
}

export function callSoon(): void {
  tone(0, 660);
  navigator.vibrate?.(200);
}

export function callOver(): void {
  [0, 0.45, 0.9].forEach((at_s) => tone(at_s, 880));
  navigator.vibrate?.([300, 150, 300, 150, 600]);
}
