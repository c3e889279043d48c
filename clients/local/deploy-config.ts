import { join } from 'node:path'
import { experimental_readRawConfig as readRawConfig } from 'wrangler'
import * as z from 'zod'
import { projectDir } from './paths.ts'

/** What of wrangler.toml changes from deployment to deployment; the rest is handed on as it is. */
const rawSchema = z.looseObject({
  name: z.string(),
  main: z.string(),
  assets: z.looseObject({ directory: z.string() }),
  d1_databases: z.array(z.looseObject({ binding: z.string(), migrations_dir: z.string() })),
  queues: z.looseObject({
    producers: z.array(z.looseObject({ binding: z.string() })),
    consumers: z.array(z.looseObject({})),
  }),
  vars: z.record(z.string(), z.string()),
})

export type Deployment = {
  /** Of the Worker; database and queues are called after it. */
  readonly name: string
  readonly databaseId: string
  readonly vars: Readonly<Record<string, string>>
}

export function queueNames(name: string) {
  return { work: `${name}-work`, dead: `${name}-dead` }
}

/**
 * The configuration of one deployment, made from wrangler.toml. Paths are absolute: the file is written elsewhere.
 * @throws when wrangler.toml binds more databases than one: a further shard is bound by hand, on purpose
 */
export function deployConfig({ name, databaseId, vars }: Deployment): Record<string, unknown> {
  const raw = rawSchema.parse(readRawConfig({ config: join(projectDir, 'wrangler.toml') }).rawConfig)
  const [database, ...others] = raw.d1_databases
  if (database === undefined || others.length > 0)
    throw new Error('wrangler.toml must bind exactly one database')
  const queues = queueNames(name)
  return {
    ...raw,
    name,
    main: join(projectDir, raw.main),
    assets: { ...raw.assets, directory: join(projectDir, raw.assets.directory) },
    d1_databases: [
      {
        ...database,
        database_name: name,
        database_id: databaseId,
        migrations_dir: join(projectDir, database.migrations_dir),
      },
    ],
    queues: {
      producers: raw.queues.producers.map((each) => ({ ...each, queue: queues.work })),
      // The one without a dead-letter queue reads it.
      consumers: raw.queues.consumers.map((each) =>
        each.dead_letter_queue === undefined
          ? Object.assign({}, each, { queue: queues.dead })
          : Object.assign({}, each, { queue: queues.work, dead_letter_queue: queues.dead }),
      ),
    },
    vars: { ...raw.vars, ...vars },
  }
}
