using System.Net;
using System.Reflection;
using Microsoft.AspNetCore.Components;

namespace Incubation.Server.Tests.Pages;

/// <summary>Whatever stands behind the question mark of a page's address, the page is shown.</summary>
public sealed class QueryTest
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData("/clinic-log?before=as%20seen")]
    [InlineData("/clinic-log?before=-9223372036854775808")]
    [InlineData("/clinic-log?before=9223372036854775807")]
    [InlineData("/record?page=as%20seen")]
    [InlineData("/record?page=2147483647")]
    [InlineData("/record?page=-2147483648")]
    public async Task Page_NumberThatIsNone_IsShown(string address)
    {
        await using var server = new ServerFactory();
        using var client = server.ClientAs("ines");

        using var answer = await client.GetAsync(new Uri(address, UriKind.Relative), Cancel);

        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
    }

    /// <summary>
    /// What the framework cannot read as another type than text ends in a fault of the program, before any code of
    /// the page runs.
    /// </summary>
    [Fact]
    public void Pages_WhatTheyTakeFromTheirAddress_IsText() => Assert.Empty(
        typeof(Program).Assembly.GetTypes().SelectMany(page => page.GetProperties())
            .Where(property => property.GetCustomAttribute<SupplyParameterFromQueryAttribute>() is not null
                && property.PropertyType != typeof(string))
            .Select(property => $"{property.DeclaringType!.Name}.{property.Name}"));
}
