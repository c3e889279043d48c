/** A seeded generator as plain data, so that a simulation can be stored and goes on where it stopped. */
export type Random = { a: number; b: number; c: number; counter: number }

/** The generator of a seed (any number); equal seeds give equal streams. */
export function randomOfSeed(seed: number): Random {
  const random = { a: seed | 0, b: Math.floor(seed / 2 ** 32) | 0, c: 0x9e37_79b9 | 0, counter: 1 }
  for (let i = 0; i < 15; i++) nextUniform(random)
  return random
}

/** Uniform in [0, 1), 32 bits: the small fast counting generator of C. Doty-Humphrey's PractRand. Changes `random`. */
export function nextUniform(random: Random): number {
  const sum = (((random.a + random.b) | 0) + random.counter) | 0
  random.counter = (random.counter + 1) | 0
  random.a = random.b ^ (random.b >>> 9)
  random.b = (random.c + (random.c << 3)) | 0
  random.c = (((random.c << 21) | (random.c >>> 11)) + sum) | 0
  return (sum >>> 0) / 2 ** 32
}

/** Normal with mean 0 and SD 1 (Box and Muller). Changes `random`. */
export function nextNormal(random: Random): number {
  const radius = Math.sqrt(-2 * Math.log(1 - nextUniform(random)))
  return radius * Math.cos(2 * Math.PI * nextUniform(random))
}

/** Uniform between two limits. Changes `random`. */
export function nextBetween(random: Random, low: number, high: number): number {
  return low + (high - low) * nextUniform(random)
}

/** Log-normal: median, times or over `factor` at one standard deviation. Changes `random`. */
export function nextAround(random: Random, median: number, factor: number): number {
  return median * factor ** nextNormal(random)
}
