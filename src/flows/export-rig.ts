/** A rig's readings as CSV that goes back in through ingest and gives the same readings. */
import type { Reading } from '../core/fold/inputs.ts'
import { timeText } from './time-text.ts'
import type { ShardPorts } from './ports.ts'

export const CSV_HEADER = 'at,humidity,temperature,pump,power,place,rig\r\n'

/** In pieces of a page each, by place and time. `slug` stands in every line: it says whose readings they are. */
export async function* exportCsv(
  shard: Pick<ShardPorts, 'exports'>,
  rig: { readonly id: string; readonly slug: string },
): AsyncGenerator<string> {
  yield CSV_HEADER
  for await (const page of shard.exports.readings(rig.id))
    yield page.map((reading) => csvLine(reading, rig.slug)).join('')
}

/** No field can hold a comma or a quote: numbers, fixed words and a slug. */
function csvLine(reading: Reading, slug: string): string {
  const pump = reading.pumpOn === null ? '' : reading.pumpOn ? 'on' : 'off'
  const fields = [
    timeText(reading.atS),
    reading.humidityPct ?? '',
    reading.tempC ?? '',
    pump,
    reading.powerW ?? '',
    reading.place,
    slug,
  ]
  return `${fields.join(',')}\r\n`
}
