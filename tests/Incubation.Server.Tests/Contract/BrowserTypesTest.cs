using Incubation.TestKit;

namespace Incubation.Server.Tests.Contract;

/// <summary>What the browser's modules are checked against is what the server sends and takes.</summary>
public sealed class BrowserTypesTest
{
    [Fact]
    public void TypesOfTheModules_TheServersTypes_AreTheSame() =>
        Assert.Null(CommittedFile.Fault("src/Incubation.Server/wwwroot/js/types.js", BrowserTypes.Write(),
            typeof(BrowserTypesTest)));
}
