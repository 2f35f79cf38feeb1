using Microsoft.JSInterop;

namespace Incubation.Server.Doors;

/// <summary>
/// Loads an open page again. The page goes away in doing so, and often cannot answer any more: that is no fault.
/// </summary>
public sealed partial class PageReload(IJSRuntime page, ILogger<PageReload> logger)
{
    /// <summary>
    /// Asks the browser to load the page again; one that is gone, or on its way to another, needs no reload
    /// (js/blazor-start.js).
    /// </summary>
    public async Task AskAsync()
    {
        try
        {
            await page.InvokeVoidAsync("loadPageAgain");
        }
        catch (Exception gone) when (gone is JSDisconnectedException or OperationCanceledException
            or ObjectDisposedException or InvalidOperationException)
        {
            LogGone(logger, gone.GetType().Name);
        }
        catch (JSException fault)
        {
            LogFailed(logger, fault.Message);
        }
    }

    [LoggerMessage(LogLevel.Debug, "A page was gone before it could be loaded again ({Why}).")]
    private static partial void LogGone(ILogger logger, string why);

    [LoggerMessage(LogLevel.Warning, "A page could not be loaded again: {Fault}")]
    private static partial void LogFailed(ILogger logger, string fault);
}
