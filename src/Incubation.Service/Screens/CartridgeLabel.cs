using Incubation.Model;

namespace Incubation.Service.Screens;

/// <summary>What the code on a cartridge's label says.</summary>
public static class CartridgeLabel
{
    /// <summary>
    /// The code's text: what it is, its bench, its request. Only characters that a scanner set up as a keyboard types
    /// alike on the usual layouts, and no space, which would press the button that has the focus.
    /// </summary>
    public static string Of(BenchId bench, RequestId request) => $"CR.{bench}.{request}";
}
