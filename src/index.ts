import { createApp } from './adapters/http/app.ts'
import type { Env } from './env.ts'
import { openHttp } from './wire.ts'

const app = createApp(openHttp)

export default {
  fetch: (request, env, context) => app.fetch(request, env, context),
} satisfies ExportedHandler<Env>
