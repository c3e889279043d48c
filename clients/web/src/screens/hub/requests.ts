/** Three requests that work as they stand, for three kinds of hub. */

export type Ready = { title: string; why: string; text: string }

/** Shown in place of a key that is not on the screen any more. */
export const keyHole = 'YOUR-KEY'

type Given = { origin: string; key: string | null; rig: string | null; isKeyInQuery: boolean }

export function readyRequests({ origin, key, rig, isKeyInQuery }: Given): Ready[] {
  const url = `${origin}/v1/readings`
  const secret = key ?? keyHole
  const json = { humidity: 11.4, temperature: 18.2, pump: true, ...(rig === null ? {} : { rig }) }
  const form = `humidity=11.4&temperature=18.2&pump=on${rig === null ? '' : `&rig=${rig}`}`
  return [
    {
      title: 'JSON, the key in a header',
      why: 'For hubs that can set a header. Without a time the reading counts as of now.',
      text: [
        `curl -X POST ${url} \\`,
        `  -H 'Authorization: Bearer ${secret}' \\`,
        `  -H 'Content-Type: application/json' \\`,
        `  -d '${JSON.stringify(json)}'`,
      ].join('\n'),
    },
    {
      title: 'A form, the key as a password',
      why: 'For hubs that know a user name and a password only. Any user name will do.',
      text: [`curl -X POST ${url} \\`, `  -u 'hub:${secret}' \\`, `  -d '${form}'`].join('\n'),
    },
    {
      title: 'A plain form, the key in the address',
      why: isKeyInQuery
        ? 'For hubs that can only be given an address and a body. The key then stands in the hub’s logs: rotate it now and then.'
        : 'For hubs that can only be given an address and a body. Allow it below first: it is refused until then.',
      text: [`POST ${url}?key=${secret}`, 'Content-Type: application/x-www-form-urlencoded', '', form].join(
        '\n',
      ),
    },
  ]
}
