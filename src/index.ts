import { createApp } from './adapters/http/app.ts'
import type { Env } from './env.ts'
import { openHttp, openSchedule } from './wire.ts'
import { runQueue, runSchedule } from './wire-schedule.ts'

const app = createApp(openHttp)

export default {
  fetch: (request, env, context) => app.fetch(request, env, context),
  scheduled: (controller, env) => runSchedule(openSchedule(env), Math.floor(controller.scheduledTime / 1000)),
  queue: (batch, env) => runQueue(openSchedule(env), batch),
} satisfies ExportedHandler<Env>
