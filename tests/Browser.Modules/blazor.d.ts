// What the pages' frame script uses of Blazor, whose own script the server brings along.

declare const Blazor: {
  start(options: {
    circuit: {
      circuitHandlers: { onCircuitOpened(): void; onCircuitClosed(): void }[];
      reconnectionHandler: { onConnectionDown(): void; onConnectionUp(): void };
    };
  }): Promise<void>;
  reconnect(): Promise<boolean>;
  addEventListener(name: "enhancedload", heard: () => void): void;
};
