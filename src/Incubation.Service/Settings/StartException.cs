namespace Incubation.Service.Settings;

/// <summary>The server cannot start for a reason that a person can put right; the message says how.</summary>
public sealed class StartException(string sentence) : Exception(sentence);
