namespace Incubation.Service.Text;

/// <summary>One choice of a list.</summary>
/// <param name="Value">What the form sends.</param>
/// <param name="Text">What people read.</param>
public sealed record FieldChoice(string Value, string Text);
