using System.Runtime.CompilerServices;
using Bunit;
using Incubation.TestKit;

namespace Incubation.Server.Tests.Pages;

/// <summary>
/// How long pages are waited for, whichever test begins: it is one number for all of them, and one second unless it is
/// set, which a busy machine may take.
/// </summary>
internal static class PagePatience
{
    [ModuleInitializer]
    internal static void Set() => BunitContext.DefaultWaitTimeout = Patience.Usual;
}
