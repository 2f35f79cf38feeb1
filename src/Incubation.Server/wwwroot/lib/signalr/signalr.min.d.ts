// What the modules use of the hub client, for the check of their types; the browser never fetches this file.

declare global {
  var signalR: {
    HubConnectionBuilder: new () => HubConnectionBuilder;
    HubConnectionState: { Connected: string; Disconnected: string };
    LogLevel: { None: number };
  };

  interface HubConnectionBuilder {
    withUrl(url: string): HubConnectionBuilder;
    withAutomaticReconnect(policy: {
      nextRetryDelayInMilliseconds(context: { previousRetryCount: number }): number | null;
    }): HubConnectionBuilder;
    configureLogging(level: number): HubConnectionBuilder;
    build(): HubConnection;
  }

  interface HubConnection {
    readonly state: string;
    start(): Promise<void>;
    stop(): Promise<void>;
    invoke(method: string, ...parts: unknown[]): Promise<any>;
    on(method: string, heard: (said: any) => void): void;
    onreconnecting(heard: () => void): void;
    onreconnected(heard: () => void): void;
    onclose(heard: () => void): void;
  }
}

export {};
