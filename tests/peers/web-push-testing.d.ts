declare module 'web-push-testing/src/PushApiModel.js' {
  type Made = {
    readonly endpoint: string
    readonly keys: { readonly p256dh: string; readonly auth: string }
    readonly clientHash: string
  }
  type Headers = {
    readonly encoding: string
    readonly encryption: undefined
    readonly cryptoKey: undefined
    readonly authorization: string
    readonly ttl: string
  }
  export class PushApiModel {
    notifyUrl: string
    subscribe(options: { userVisibleOnly: string; applicationServerKey: string }): Promise<Made>
    expireSubscription(clientHash: string): void
    handleNotification(clientHash: string, headers: Headers, body: Buffer): Promise<void>
    getNotifications(of: { clientHash: string }): { readonly messages: readonly string[] }
  }
}
