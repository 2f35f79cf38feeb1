namespace Incubation.Service.Text;

/// <summary>What is wrong with one thing of what was filled in, or with all of it (member "").</summary>
public sealed record FormFault(string Member, string Sentence);
