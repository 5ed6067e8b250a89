'use strict';

// Starts `recte serve` for ABC files and hands it the settings section `recte`; everything musical is the server's.

const { workspace } = require('vscode');
const { LanguageClient } = require('vscode-languageclient/node');

const SECTION = 'recte';

/** @type {LanguageClient | undefined} */
let client;

/** The settings the server understands: the section without what only the editor needs and without what nobody set. */
function serverSettings() {
  const { server, ...section } = JSON.parse(JSON.stringify(workspace.getConfiguration(SECTION)));
  return Object.fromEntries(Object.entries(section).filter(([, value]) => value !== null));
}

async function start() {
  const command = workspace.getConfiguration(SECTION).get('server.path');
  client = new LanguageClient(SECTION, 'Recte', { command, args: ['serve'] }, {
    documentSelector: [{ language: 'abc' }],
    initializationOptions: serverSettings,
    middleware: {
      workspace: {
        // A server that asks for its settings gets the same ones as it is sent.
        configuration: ({ items }) => items.map(({ section }) => (section === SECTION ? serverSettings() : null)),
      },
    },
  });
  // A server that cannot start is shown by the client itself, with the command it tried.
  await client.start().catch(() => {});
}

async function stop() {
  const stopping = client;
  client = undefined;
  if (stopping?.isRunning()) {
    await stopping.stop();
  }
}

async function settingsChanged(event) {
  if (event.affectsConfiguration(`${SECTION}.server`)) {
    await stop();
    await start();
  } else if (event.affectsConfiguration(SECTION) && client?.isRunning()) {
    await client.sendNotification('workspace/didChangeConfiguration', { settings: { [SECTION]: serverSettings() } });
  }
}

async function activate(context) {
  context.subscriptions.push(workspace.onDidChangeConfiguration(settingsChanged));
  await start();
}

module.exports = { activate, deactivate: stop };
